"""What trials teach, and the rows that are added to learned.csv."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path

from optimiser.domain.ingredient import Figure
from optimiser.domain.learned import Learned, source_of
from optimiser.errors import UsageError
from optimiser.export.learned_csv import learned_head, learned_rows
from optimiser.export.spots_svg import spots_svg
from optimiser.files.atomic import write_atomic, write_new
from optimiser.files.journal import add_to, held
from optimiser.loading.learned import COLUMNS
from optimiser.requests.sources import Sources
from optimiser.trials.learning import Lesson, Number, learn
from optimiser.workflows.trials import all_trials, get_trial

FILE = "learned.csv"


def learn_from(sources: Sources, words: Sequence[str]) -> Lesson:
    """The lesson of the named trials, of all when none is named. Raises UsageError or DataError."""
    folder = Path(sources.worktable.folder)
    named = dict.fromkeys(words)
    trials = tuple(get_trial(folder, word) for word in named) if named else all_trials(folder)
    if not trials:
        raise UsageError("no trial was opened yet", "optimiser trial new PROPOSAL opens one")
    return learn(trials, sources.worktable, sources.constants)


def rows_of(lesson: Lesson, sources: Sources, day: date) -> tuple[Learned, ...]:
    """What was learned as rows that the table takes: ends kept inside the bounds of their property."""
    return tuple(_row(one, sources, day) for one in lesson.learned)


def _row(one: Number, sources: Sources, day: date) -> Learned:
    bounds = sources.vocabulary.properties[one.cause.property]

    def inside(value: Fraction) -> Fraction:
        return min(max(value, bounds.low), bounds.high)

    value, low, high = (inside(end) for end in one.after)
    source = source_of(one.trials, one.cause.lot)
    figure = Figure(value, low, high, bounds.unit, source, "measured")
    return Learned(day, one.cause.ingredient, one.cause.lot, one.cause.property, figure)


def write_learned(lesson: Lesson, sources: Sources, day: date) -> Path | None:
    """Adds the rows to learned.csv under a lock; what stands there stays. None where nothing was learned.

    Raises UsageError where the table is a spreadsheet or has other columns.
    """
    rows = rows_of(lesson, sources, day)
    if not rows:
        return None
    path = Path(sources.worktable.folder) / FILE
    if path.with_suffix(".xlsx").exists():
        raise UsageError("learned.xlsx is a spreadsheet, and rows are added to learned.csv", "save it as CSV")
    decimal = sources.worktable.settings.decimal
    if not path.exists():
        with held(path):
            if not path.exists():
                write_new(path, learned_head())

    def more(before: str) -> str:
        first = before.removeprefix("\ufeff").splitlines()[:1] or [""]
        mark = ";" if ";" in first[0] else "\t" if "\t" in first[0] else ","
        if first[0].strip() != learned_head().strip().replace(",", mark):
            raise UsageError(
                f"{path} has other columns than {', '.join(sorted(COLUMNS.names))}",
                f"give it the first line {learned_head().strip()}",
            )
        return learned_rows(rows, decimal, mark)

    add_to(path, more)
    return path


def draw_lesson(lesson: Lesson, sources: Sources, path: Path) -> Path:
    """The check on trials left out, as a drawing. Raises OptimiserError."""
    write_atomic(path, spots_svg(lesson, sources.worktable.settings.decimal))
    return path
