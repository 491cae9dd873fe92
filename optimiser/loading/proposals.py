"""Saved proposals read back, so that they can be judged again before anything is printed from them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import get_args

from optimiser.domain.brief import Aim
from optimiser.domain.firm import Firm
from optimiser.domain.formula import Phase
from optimiser.domain.moved import Moved
from optimiser.domain.selector import AnyOf, Pick, Selector
from optimiser.domain.vocabulary import Vocabulary
from optimiser.domain.worktable import Worktable
from optimiser.loading.amounts import Sum
from optimiser.loading.entries import Entries
from optimiser.loading.findings import Findings, shown
from optimiser.loading.firm import read_firm
from optimiser.loading.formulas import read_batch, read_phases, settle_drafts, with_lines
from optimiser.loading.names import Names, Reader, words_of
from optimiser.loading.yaml_nodes import Keys, Node, Text, read_yaml
from optimiser.problems import Problem, in_order
from optimiser.units.numbers import read_number

FORMAT = 1
KEYS = ("format", "name", "heading", "formula", "briefs", "options", "batch", "phases", "provenance")
OPTIONS = ("leave_out", "instead_of", "only_from", "aim", "bare", "firm", "moved")
MOVED = ("rule", "at_least", "at_most", "gone", "but_for")
SOURCES = ("version", "table", "request", "solvers")


@dataclass(frozen=True, slots=True)
class SavedProposal:
    """A proposal as it was saved. `phases` hold the lines in % w/w, together 100 %; `batch_g` is in grams.

    `formula` and `briefs` are ids of the worktable. `table` and `request` are the digests of the data and of
    the request at the time: another digest today means that the verdicts may have changed.
    """

    name: str
    heading: str
    formula: str
    briefs: tuple[str, ...]
    phases: tuple[Phase, ...]
    batch_g: Fraction
    leave_out: tuple[Selector, ...] = ()
    instead_of: tuple[tuple[str, str], ...] = ()
    only_from: str = ""
    aim: tuple[Aim, ...] = ()
    bare: bool = False
    version: str = ""
    table: str = ""
    request: str = ""
    solvers: str = ""
    firm: Firm | None = None
    moved: tuple[Moved, ...] = ()


def read_proposal(
    path: Path, table: Worktable, vocabulary: Vocabulary
) -> tuple[SavedProposal | None, tuple[Problem, ...]]:
    """The proposal in `path`, or None with every problem found.

    Ingredients, formula and briefs must still be in the worktable. Nothing is judged here.
    """
    findings = Findings(str(path))
    node = read_yaml(path, findings)
    reader = Reader(_names(table, vocabulary), findings)
    saved = None if node is None else _read(node, reader, table)
    return (None if findings.problems else saved), in_order(findings.problems)


def _names(table: Worktable, vocabulary: Vocabulary) -> Names:
    """The names that a saved proposal may speak of; its numbers have a decimal point."""
    ingredients = table.ingredients.values()
    return Names(
        groups_of=MappingProxyType({name: kind.group for name, kind in vocabulary.kinds.items()}),
        roles=frozenset(vocabulary.roles),
        flags=frozenset(vocabulary.flags),
        levels=MappingProxyType({}),
        means=MappingProxyType({}),
        ingredients=frozenset(table.ingredients),
        words=words_of((one.id, one.name, one.aliases) for one in ingredients),
        densities=MappingProxyType(
            {one.id: figure.value for one in ingredients if (figure := one.figure("density")) is not None}
        ),
    )


def _read(node: Keys, reader: Reader, table: Worktable) -> SavedProposal | None:
    findings = reader.findings
    entries = Entries.of(node, "proposal", KEYS, findings)
    if entries is None or not _known_format(entries):
        return None
    formula = entries.text("formula", needed=True)
    if formula:
        findings.word(
            entries.line("formula"), "formula", formula, table.formulas, "a formula of the worktable"
        )
    briefs = tuple(word for word, _ in entries.texts("briefs"))
    for word, line in entries.texts("briefs"):
        findings.word(line, "briefs", word, table.briefs, "a brief of the worktable")
    phases = _phases(entries, reader)
    batch = read_batch(entries, reader)
    if batch is None and not entries.text("batch"):
        findings.add(node.line, "proposal", "batch: with a weight", "none")
    options = _section(entries, "options", OPTIONS)
    sources = _section(entries, "provenance", SOURCES)
    if phases is None or batch is None:
        return None
    return SavedProposal(
        name=entries.text("name"),
        heading=entries.text("heading"),
        formula=formula,
        briefs=briefs,
        phases=phases,
        batch_g=batch,
        leave_out=_several(options, reader),
        instead_of=_swaps(options, reader),
        only_from=options.choice("only_from", ("shelf",)) if options else "",
        aim=_aims(options),
        bare=options.yes("bare") if options else False,
        version=sources.text("version") if sources else "",
        table=sources.text("table") if sources else "",
        request=sources.text("request") if sources else "",
        solvers=sources.text("solvers") if sources else "",
        firm=read_firm(options.get("firm"), "options", findings, "point") if options else None,
        moved=_moved(options, reader),
    )


def _known_format(entries: Entries) -> bool:
    found = entries.text("format", needed=True)
    if found and found != str(FORMAT):
        fix = "it may have been written by a newer version"
        entries.findings.add(entries.line("format"), "format", str(FORMAT), shown(found), fix)
    return found == str(FORMAT)


def _phases(entries: Entries, reader: Reader) -> tuple[Phase, ...] | None:
    before = len(reader.findings.problems)
    drafts = read_phases(entries, reader)
    complete = len(reader.findings.problems) == before
    whole = Sum(reader.findings.file, entries.line("phases"), None, False)
    settled = settle_drafts(drafts, whole, reader, complete=complete)
    return None if settled is None else with_lines(drafts, settled.lines)


def _section(entries: Entries, name: str, allowed: tuple[str, ...]) -> Entries | None:
    node = entries.get(name)
    return None if node is None else Entries.of(node, name, allowed, entries.findings)


def _several(options: Entries | None, reader: Reader) -> tuple[Selector, ...]:
    found = (_selector(node, reader) for node in (options.items("leave_out") if options else ()))
    return tuple(one for one in found if one is not None)


def _selector(node: Node, reader: Reader) -> Selector | None:
    """`kind:clay`, or `{any: [kind:clay, kind:charcoal]}`; a substance may be any name."""
    if isinstance(node, Text):
        field, colon, name = node.text.partition(":")
        if colon and field == "substance" and name:
            return Pick("substance", name)
        return reader.selector_text(node.text, node.line, "leave_out")
    entries = Entries.of(node, "leave_out", ("any",), reader.findings)
    members = [_selector(one, reader) for one in (entries.items("any") if entries else ())]
    picks = tuple(one for one in members if isinstance(one, Pick))
    return AnyOf(picks) if picks else None


def _swaps(options: Entries | None, reader: Reader) -> tuple[tuple[str, str], ...]:
    found = []
    for node in options.items("instead_of") if options else ():
        entries = Entries.of(node, "instead_of", ("out", "use"), reader.findings)
        if entries is None:
            continue
        ids = [
            reader.ingredient(word, entries.line(key), "instead_of")
            if (word := entries.text(key, needed=True))
            else None
            for key in ("out", "use")
        ]
        if ids[0] is not None and ids[1] is not None:
            found.append((ids[0], ids[1]))
    return tuple(found)


def _moved(options: Entries | None, reader: Reader) -> tuple[Moved, ...]:
    """Limits that were moved by hand, numbers with a decimal point."""
    found = []
    for node in options.items("moved") if options else ():
        entries = Entries.of(node, "moved", MOVED, reader.findings)
        if entries is None:
            continue
        rule = entries.text("rule", needed=True)
        low, high = (_limit(entries, key) for key in ("at_least", "at_most"))
        back = tuple(word for word, _ in entries.texts("but_for"))
        found.append(Moved(rule, low, high, entries.yes("gone"), back))
    return tuple(found)


def _limit(entries: Entries, key: str) -> Fraction | None:
    text = entries.text(key)
    if not text:
        return None
    number = read_number(text)
    if isinstance(number, Fraction):
        return number
    entries.findings.add(entries.line(key), "moved", number.expected, shown(text), number.fix)
    return None


def _aims(options: Entries | None) -> tuple[Aim, ...]:
    found: list[Aim] = []
    known: dict[str, Aim] = {name: name for name in get_args(Aim)}
    for word, line in options.texts("aim") if options else ():
        if options is not None and options.findings.word(line, "aim", word, known, "an aim"):
            found.append(known[word])
    return tuple(found)
