"""trials/*.yaml: trials as they were planned, and what was weighed, read and seen since."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, TypeVar, get_args

from optimiser.domain.ingredient import Place
from optimiser.domain.trials import WHATS, Entry, Expected, Planned, Trial, What
from optimiser.loading.entries import Entries
from optimiser.loading.findings import Findings, shown
from optimiser.loading.written import count_of, day_of, grams_of, number_of, numbered
from optimiser.loading.yaml_nodes import Node, parse_yaml, read_yaml
from optimiser.problems import Problem, in_order

FORMAT = "1"
KEYS = (
    "format",
    "trial",
    "formula",
    "proposal",
    "briefs",
    "opened",
    "batch",
    "table",
    "block",
    "lines",
    "expected",
    "entries",
)
LINE = ("phase", "ingredient", "grams", "dosed", "lot")
EXPECTED = ("measure", "value", "low", "high", "error", "unit", "rate")
NUMBERS = ("value", "spread", "at_c", "rate", "rpm", "stored_c")
TEXTS = (
    "ingredient",
    "lot",
    "measure",
    "unit",
    "instrument",
    "spindle",
    "light",
    "outcome",
    "path",
    "text",
    "who",
)
ENTRY = ("n", "day", "what", "grams", "cycles", "corrects", *TEXTS, *NUMBERS)
One = TypeVar("One")
KNOWN: dict[str, What] = {name: name for name in get_args(What)}
NEEDS: dict[str, tuple[str, ...]] = {
    "weighed": ("ingredient", "grams"),
    "made": ("measure", "value"),
    "read": ("measure", "value"),
    "felt": ("measure", "value"),
    "looked": ("text",),
    "challenge": ("outcome",),
    "photo": ("path",),
    "remark": ("text",),
    "corrected": ("corrects",),
}
"""What an entry of each kind cannot do without."""


def read_trials(folder: Path) -> tuple[tuple[Trial, ...], tuple[Problem, ...]]:
    """Every trial of the worktable `folder`, by day and id; with every problem found."""
    found: list[Trial] = []
    problems: list[Problem] = []
    for path in trial_files(folder):
        trial, faults = read_trial(path)
        problems += faults
        if trial is not None:
            found.append(trial)
    return tuple(sorted(found, key=in_time)), in_order(problems)


def in_time(trial: Trial) -> tuple[date, str, int, str]:
    """The order trials are told in: by day, then mask-2 before mask-10."""
    head, _, tail = trial.id.rpartition("-")
    return (trial.opened, head, int(tail), "") if tail.isdecimal() else (trial.opened, trial.id, 0, "")


def trial_files(folder: Path) -> list[Path]:
    """Files of trials by name, without hidden ones."""
    return sorted(p for p in (folder / "trials").glob("*.yaml") if not p.name.startswith("."))


def read_trial(path: Path) -> tuple[Trial | None, tuple[Problem, ...]]:
    """The trial in `path`, or None with every problem found."""
    findings = Findings(f"trials/{path.name}")
    node = read_yaml(path, findings)
    trial = None if node is None else _trial(node, findings)
    if trial is not None and trial.id != path.stem:
        line, fix = trial.place.line, "rename the file, or mend the id"
        findings.add(line, "trial", f"the id {path.stem}, as the file is called", shown(trial.id), fix)
    return (None if findings.problems else trial), in_order(findings.problems)


def parse_trial(text: str, file: str) -> tuple[Trial | None, tuple[Problem, ...]]:
    """The same from text that is not on disk yet."""
    findings = Findings(file)
    node = parse_yaml(text, findings)
    trial = None if node is None else _trial(node, findings)
    return (None if findings.problems else trial), in_order(findings.problems)


def _trial(node: Node, findings: Findings) -> Trial | None:
    entries = Entries.of(node, "trial", KEYS, findings)
    if entries is None:
        return None
    form = entries.text("format", needed=True)
    if form and form != FORMAT:
        findings.add(entries.line("format"), "format", FORMAT, shown(form), "it may be from a newer version")
        return None
    identifier, formula = entries.text("trial", needed=True), entries.text("formula", needed=True)
    opened, batch = day_of(entries, "opened"), grams_of(entries, "batch", needed=True)
    lines = _each(entries.items("lines"), _line, findings)
    expected = _each(entries.items("expected"), _expected, findings)
    written = _each(entries.items("entries"), _entry, findings)
    numbered(written, findings)
    if opened is None or batch is None:
        return None
    return Trial(
        identifier,
        formula,
        opened,
        batch,
        lines,
        expected,
        proposal=entries.text("proposal"),
        briefs=tuple(word for word, _ in entries.texts("briefs")),
        table=entries.text("table"),
        entries=written,
        block=entries.text("block"),
        place=Place(findings.file, entries.node.line),
    )


def _each(
    nodes: tuple[Node, ...], read: Callable[[Node, Findings], One | None], findings: Findings
) -> tuple[One, ...]:
    return tuple(one for node in nodes if (one := read(node, findings)) is not None)


def _line(node: Node, findings: Findings) -> Planned | None:
    entries = Entries.of(node, "line", LINE, findings)
    if entries is None:
        return None
    grams = grams_of(entries, "grams", needed=True)
    phase, name = entries.text("phase", needed=True), entries.text("ingredient", needed=True)
    dosed = entries.yes("dosed")
    return None if grams is None else Planned(phase, name, grams, dosed, entries.text("lot"))


def _expected(node: Node, findings: Findings) -> Expected | None:
    entries = Entries.of(node, "expected", EXPECTED, findings)
    if entries is None:
        return None
    measure, unit = entries.text("measure", needed=True), entries.text("unit")
    value, low, high, error, rate = (
        number_of(entries, name) for name in ("value", "low", "high", "error", "rate")
    )
    if value is None:
        if not entries.text("value"):
            findings.add(entries.node.line, measure or "expected", "value: with a number", "none")
        return None
    low, high = value if low is None else low, value if high is None else high
    if not low <= value <= high:
        findings.add(entries.line("value"), measure, "low, value and high in this order", "another order")
    return Expected(measure, value, low, high, unit, error, rate)


def _entry(node: Node, findings: Findings) -> Entry | None:
    entries = Entries.of(node, "entry", ENTRY, findings)
    if entries is None:
        return None
    number, day = count_of(entries, "n", needed=True), day_of(entries, "day")
    what = entries.text("what", needed=True)
    if what and not findings.word(entries.line("what"), "entry", what, WHATS, "what may be written down"):
        return None
    _complete(entries, what)
    said: dict[str, Any] = {name: entries.text(name) for name in TEXTS}
    said |= {name: number_of(entries, name) for name in NUMBERS}
    grams, cycles, corrects = (
        grams_of(entries, "grams"),
        count_of(entries, "cycles"),
        count_of(entries, "corrects"),
    )
    if number is None or day is None or not what:
        return None
    return Entry(
        number,
        day,
        KNOWN[what],
        grams=grams,
        cycles=cycles,
        corrects=corrects,
        place=Place(findings.file, entries.node.line),
        **said,
    )


def _complete(entries: Entries, what: str) -> None:
    for name in NEEDS.get(what, ()):
        if not entries.text(name):
            entries.findings.add(entries.node.line, f"entry, {what}", f"{name}: with a value", "none")
