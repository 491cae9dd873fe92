"""Settings of the work that a rule on a response states: `made: {stirring: 800 rpm}`."""

from __future__ import annotations

import re
from fractions import Fraction

from optimiser.domain.response import Setting
from optimiser.loading.entries import Entries, describe
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.readings import read_setting
from optimiser.loading.yaml_nodes import Keys, Node, Text
from optimiser.units.numbers import NumberFault, show_number

BARE = re.compile(r"[0-9.,+-]+")


def made_of(nested: Entries, reader: Reader, name: str) -> tuple[tuple[str, Fraction], ...] | None:
    """`made: {stirring: 800 rpm}`: every setting of the response, where the trials had it."""
    settings = {one.name: one for one in reader.names.settings.get(name, ())}
    node = nested.get("made")
    said = node.values if isinstance(node, Keys) else {}
    if node is not None and not isinstance(node, Keys):
        reader.findings.add(node.line, nested.entry, "settings such as {stirring: 800 rpm}", describe(node))
        return None
    good, found = True, []
    for own, value in said.items():
        line = value.line
        if not reader.findings.word(line, nested.entry, own, settings, f"a setting of {name}"):
            good = False
            continue
        number = _setting(settings[own], value, nested.entry, reader)
        good = good and number is not None
        found.append((own, number or Fraction(0)))
    for own in sorted(set(settings) - set(said)):
        one = settings[own]
        reader.findings.add(
            nested.node.line,
            nested.entry,
            f"made: {{{own}: …}}, for it was fitted to trials with {_span_of(one)}",
            "none",
        )
        good = False
    return tuple(found) if good else None


def _setting(one: Setting, node: Node, entry: str, reader: Reader) -> Fraction | None:
    if not isinstance(node, Text):
        reader.findings.add(node.line, entry, f"a number for {one.name}", describe(node))
        return None
    text = f"{node.text} {one.unit}" if BARE.fullmatch(node.text.strip()) else node.text
    read = read_setting(one.name, text, reader.names.decimal)
    said = reader.findings.number(node.line, entry, read if isinstance(read, NumberFault) else read.value)
    if said is None or isinstance(read, NumberFault):
        return None
    if read.unit != one.unit or not one.low <= said <= one.high:
        reader.findings.add(node.line, entry, f"{_span_of(one)}, where the trials were", shown(node.text))
        return None
    return said


def _span_of(one: Setting) -> str:
    low, high = (show_number(end, 4) for end in (one.low, one.high))
    return f"{one.name} {low} to {high} {one.unit}".rstrip()
