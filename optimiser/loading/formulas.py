"""Base formulas from YAML."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.formula import Formula, Line, Parent, Phase, Step
from optimiser.domain.ingredient import Place
from optimiser.domain.product import Product
from optimiser.loading.amounts import Settled, Sum, Written, read_value, settle
from optimiser.loading.entries import Entries, describe
from optimiser.loading.findings import shown
from optimiser.loading.names import NotFound, Reader, find, plain
from optimiser.loading.packs import read_pack
from optimiser.loading.products import read_facts
from optimiser.loading.rules import read_targets
from optimiser.loading.yaml_nodes import Keys, Node, Text
from optimiser.problems import Problem
from optimiser.units.quantities import read_amount

KEYS = (
    "name", "product", "hero", "claims", "batch", "normalise", "phases", "targets", "note", "parent", "pack"
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Draft:
    """A phase as written, its lines not yet in %."""

    name: str
    title: str
    lines: tuple[Written, ...]
    steps: tuple[tuple[Step, int], ...]


def read_formula(identifier: str, node: Keys, reader: Reader, default_batch_g: Fraction) -> Formula | None:
    """The formula, or None with its problems noted."""
    before = len(reader.findings.problems)
    entries = Entries.of(node, "formula", KEYS, reader.findings)
    if entries is None:
        return None
    name = entries.text("name", needed=True)
    facts = read_facts(entries.get("product"), "formula", reader.findings)
    drafts = read_phases(entries, reader)
    whole = Sum(
        reader.findings.file, entries.line("phases"), read_batch(entries, reader), entries.yes("normalise")
    )
    settled = settle_drafts(drafts, whole, reader, complete=len(reader.findings.problems) == before)
    there = frozenset(one.ingredient for draft in drafts for one in draft.lines)
    there |= _faulty(reader.findings.problems[before:])
    hero = _present(entries, "hero", there, reader)
    for draft in drafts:
        check_steps(draft, there, reader)
    targets = read_targets(entries.items("targets"), reader, tuple(draft.name for draft in drafts))
    claims = tuple(_claim(item, entries) for item in entries.items("claims"))
    pack = read_pack(entries, reader.names.decimal)
    if settled is None or len(reader.findings.problems) > before:
        return None
    return Formula(
        id=identifier,
        name=name,
        product=Product(**facts),
        phases=with_lines(drafts, settled.lines),
        batch_g=settled.batch_g or default_batch_g,
        hero=hero,
        claims=claims,
        targets=targets,
        note=" ".join(filter(None, (entries.text("note"), settled.note))),
        parent=_parent(entries, reader),
        pack=pack,
        place=Place(reader.findings.file, entries.node.line),
    )


def _parent(entries: Entries, reader: Reader) -> Parent | None:
    """Where the formula comes from; the one before it need not be in the folder any more."""
    node = entries.get("parent")
    if node is None:
        return None
    parts = Entries.of(node, "parent", ("formula", "asked", "proposal"), reader.findings)
    if parts is None:
        return None
    return Parent(parts.text("formula", needed=True), parts.text("asked"), parts.text("proposal"))


def read_batch(entries: Entries, reader: Reader) -> Fraction | None:
    text = entries.text("batch")
    if not text:
        return None
    grams = reader.findings.number(entries.line("batch"), "batch", read_amount(text, reader.names.decimal))
    if grams == 0:
        reader.findings.add(entries.line("batch"), "batch", "more than 0 g", shown(text))
        return None
    return grams


def settle_drafts(drafts: tuple[Draft, ...], whole: Sum, reader: Reader, *, complete: bool) -> Settled | None:
    """The lines of all phases in %. Sums are judged only where every line could be read (`complete`)."""
    written = tuple(one for draft in drafts for one in draft.lines)
    if not written:
        if complete:
            reader.findings.add(whole.line, "formula", "at least one line", "none")
        return None
    if complete or sum(one.unit == "fill" for one in written) > 1:
        return settle(written, whole, reader.findings)
    return None


def with_lines(drafts: tuple[Draft, ...], lines: tuple[Line, ...]) -> tuple[Phase, ...]:
    phases = []
    start = 0
    for draft in drafts:
        end = start + len(draft.lines)
        phases.append(
            Phase(draft.name, draft.title, lines[start:end], tuple(step for step, _ in draft.steps))
        )
        start = end
    return tuple(phases)


def read_phases(entries: Entries, reader: Reader) -> tuple[Draft, ...]:
    nodes = entries.items("phases")
    if not nodes and "phases" not in entries:
        reader.findings.add(entries.node.line, "formula", "phases: with their lines", "none")
    drafts: list[Draft] = []
    for node in nodes:
        draft = _phase(node, reader)
        if draft is None:
            continue
        if draft.name in {other.name for other in drafts}:
            reader.findings.add(node.line, f"phase {draft.name}", "each phase name once", "it a second time")
        drafts.append(draft)
    return tuple(drafts)


def _phase(node: Node, reader: Reader) -> Draft | None:
    entries = Entries.of(node, "phase", ("phase", "title", "lines", "steps"), reader.findings)
    if entries is None:
        return None
    name = entries.text("phase", needed=True)
    lines = tuple(one for item in entries.items("lines") if (one := _line(item, reader)) is not None)
    check_twins(name, lines, reader)
    steps = tuple(step for item in entries.items("steps") if (step := _step(item, reader)) is not None)
    return Draft(name, entries.text("title"), lines, steps)


def check_twins(phase: str, lines: Iterable[Written], reader: Reader) -> None:
    """An ingredient may stand in several phases, and once in each."""
    first: dict[str, int] = {}
    for one in lines:
        if one.ingredient in first:
            reader.findings.add(
                one.line,
                one.ingredient,
                f"each ingredient once in phase {phase}",
                f"it a second time (first on line {first[one.ingredient]})",
                "add the two lines up",
                one.cell,
            )
        first.setdefault(one.ingredient, one.line)


def _line(node: Node, reader: Reader) -> Written | None:
    if not isinstance(node, Keys) or len(node.values) != 1:
        fix = 'an amount with a comma needs quotes: {glycerin: "3,5 %"}'
        shape = "one ingredient with its amount, {glycerin: 5 %}"
        reader.findings.add(node.line, "line", shape, describe(node), fix)
        return None
    ((word, value),) = node.values.items()
    name = reader.ingredient(word, node.lines[word], "line")
    if not isinstance(value, Text):
        reader.findings.add(value.line, word, "an amount", describe(value))
        return None
    written = read_value(value.text, name or word, value.line, reader)
    return written if name else None


def _step(node: Node, reader: Reader) -> tuple[Step, int] | None:
    if isinstance(node, Text):
        return Step(node.text), node.line
    entries = Entries.of(node, "step", ("text", "about"), reader.findings)
    if entries is None:
        return None
    text = entries.text("text", needed=True)
    known = reader.names.words
    about = tuple(known.get(plain(word), (word,))[0] for word, _ in entries.texts("about"))
    return (Step(text, about), entries.line("about")) if text else None


def _faulty(problems: Iterable[Problem]) -> frozenset[str]:
    """What lines with a fault are of: it is not missed a second time where a step or a hero names it."""
    return frozenset(one.found.strip('"') if one.entry == "line" else one.entry for one in problems)


def check_steps(draft: Draft, there: frozenset[str], reader: Reader) -> None:
    """Steps may only be about lines of the formula."""
    for step, line in draft.steps:
        for word in step.about:
            if word not in there:
                _missing(word, line, "step", there, reader)


def _missing(word: str, line: int, entry: str, there: frozenset[str], reader: Reader) -> None:
    found = find(reader.names.words, word, reader.findings.hint)
    near = found.near if isinstance(found, NotFound) else (found,)
    fix = next((f'write "{one}"' for one in near if one in there), "")
    reader.findings.add(line, entry, "an ingredient of this formula", shown(word), fix)


def _present(entries: Entries, key: str, there: frozenset[str], reader: Reader) -> tuple[str, ...]:
    """The ids listed after `key`, each of them a line of the formula."""
    names = []
    for word, line in entries.texts(key):
        found = find(reader.names.words, word, reader.findings.hint)
        name = found if isinstance(found, str) else word
        if name in there:
            names.append(name)
        else:
            _missing(word, line, key, there, reader)
    return tuple(names)


def _claim(node: Node, entries: Entries) -> str:
    """A claim as words: a text, or {natural_origin: {at_least: 95 %}}."""
    if isinstance(node, Text):
        return node.text
    if isinstance(node, Keys) and len(node.values) == 1:
        ((what, limit),) = node.values.items()
        if isinstance(limit, Keys) and all(isinstance(value, Text) for value in limit.values.values()):
            sides = [
                f"{side.replace('_', ' ')} {value.text}"
                for side, value in limit.values.items()
                if isinstance(value, Text)
            ]
            return f"{what.replace('_', ' ')} {', '.join(sides)}"
    entries.findings.add(node.line, "claims", "a text, or {natural_origin: {at_least: 95 %}}", describe(node))
    return ""
