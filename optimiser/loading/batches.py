"""batches/*.yaml: batches as they were made, and what happened to them."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

from optimiser.domain.batches import EVENTS, NOTES, Batch, Event, Happened, UsedLot
from optimiser.domain.ingredient import Place
from optimiser.loading.entries import Entries
from optimiser.loading.findings import Findings, shown
from optimiser.loading.written import count_of, day_of, grams_of, numbered
from optimiser.loading.yaml_nodes import Node, parse_yaml, read_yaml
from optimiser.problems import Problem, in_order
from optimiser.units.numbers import read_number

FORMAT = "1"
KEYS = ("format", "batch", "formula", "proposal", "made", "grams", "price_per_jar", "lots", "entries")
ENTRY = ("n", "day", "what", "jars", "holds", "who", "kind", "text", "corrects")
KNOWN: dict[str, Event] = {name: name for name in get_args(Event)}


def read_batches(folder: Path) -> tuple[tuple[Batch, ...], tuple[Problem, ...]]:
    """Every batch of the worktable `folder`, by day and id; with every problem found."""
    found: list[Batch] = []
    problems: list[Problem] = []
    for path in batch_files(folder):
        batch, faults = read_batch(path)
        problems += faults
        if batch is not None:
            found.append(batch)
    ordered = sorted(found, key=lambda one: (one.made, one.id))
    return tuple(ordered), in_order(problems)


def batch_files(folder: Path) -> list[Path]:
    """Files of batches by name, without hidden ones."""
    return sorted(p for p in (folder / "batches").glob("*.yaml") if not p.name.startswith("."))


def read_batch(path: Path) -> tuple[Batch | None, tuple[Problem, ...]]:
    """The batch in `path`, or None with every problem found."""
    findings = Findings(f"batches/{path.name}")
    node = read_yaml(path, findings)
    batch = None if node is None else _batch(node, findings)
    return (None if findings.problems else batch), in_order(findings.problems)


def parse_batch(text: str, file: str) -> tuple[Batch | None, tuple[Problem, ...]]:
    """The same from text that is not on disk yet."""
    findings = Findings(file)
    node = parse_yaml(text, findings)
    batch = None if node is None else _batch(node, findings)
    return (None if findings.problems else batch), in_order(findings.problems)


def _batch(node: Node, findings: Findings) -> Batch | None:
    entries = Entries.of(node, "batch", KEYS, findings)
    if entries is None:
        return None
    form = entries.text("format", needed=True)
    if form and form != FORMAT:
        findings.add(entries.line("format"), "format", FORMAT, shown(form), "it may be from a newer version")
        return None
    identifier, formula = entries.text("batch", needed=True), entries.text("formula", needed=True)
    made, grams = day_of(entries, "made"), grams_of(entries, "grams", needed=True)
    lots = tuple(one for item in entries.items("lots") if (one := _lot(item, findings)))
    happened = tuple(entry for item in entries.items("entries") if (entry := _entry(item, findings)))
    numbered(happened, findings)
    price = entries.text("price_per_jar")
    read = (
        findings.number(entries.line("price_per_jar"), "price_per_jar", read_number(price)) if price else None
    )
    if made is None or grams is None:
        return None
    return Batch(
        identifier,
        formula,
        made,
        grams,
        lots,
        entries.text("proposal"),
        read,
        happened,
        Place(findings.file, entries.node.line),
    )


def _lot(node: Node, findings: Findings) -> UsedLot | None:
    entries = Entries.of(node, "lot", ("ingredient", "lot", "grams"), findings)
    if entries is None:
        return None
    grams = grams_of(entries, "grams", needed=True)
    name, lot = entries.text("ingredient", needed=True), entries.text("lot")
    return UsedLot(name, lot, grams) if name and grams is not None else None


def _entry(node: Node, findings: Findings) -> Happened | None:
    entries = Entries.of(node, "entry", ENTRY, findings)
    if entries is None:
        return None
    number, day = count_of(entries, "n", needed=True), day_of(entries, "day")
    what = entries.text("what", needed=True)
    if what and not findings.word(entries.line("what"), "entry", what, EVENTS, "what may happen"):
        return None
    kind = entries.text("kind")
    if kind:
        findings.word(entries.line("kind"), "entry", kind, NOTES, "a kind of note")
    corrects = count_of(entries, "corrects")
    if number is None or day is None or not what:
        return None
    return Happened(
        number,
        day,
        KNOWN[what],
        count_of(entries, "jars") or 0,
        entries.text("holds"),
        entries.text("who"),
        kind,
        entries.text("text"),
        corrects,
        Place(findings.file, entries.node.line),
    )
