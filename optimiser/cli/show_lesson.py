"""What trials taught, on the terminal."""

from __future__ import annotations

from optimiser.cli.console import console, point, table
from optimiser.export.lesson_words import STATES, before_text, check_texts, ends_text, refused, untold
from optimiser.requests.sentences import first_upper
from optimiser.trials.learning import Lesson, Number
from optimiser.units.numbers import DecimalMark


def show_lesson(lesson: Lesson, decimal: DecimalMark, *, told: bool = True) -> None:
    """Before and after, what cannot be told apart and what would settle it, the check, what was left out."""
    out = console()
    rows = [_row(one, decimal) for one in lesson.numbers if one.state != "left"]
    if rows:
        out.print(table(("Number", "Unit", "Before", "After", "From", ""), rows))
        out.print("In brackets: 95 of 100 times it lies there.")
    for one in lesson.numbers:
        if one.state == "mixed up":
            out.print()
            out.print(refused(one))
    _list("Too little to tell: as it was", untold(lesson))
    if lesson.foretold:
        out.print()
        out.print("Each trial as the table and as the other trials foretell it", style="bold")
        checks = [check_texts(one, decimal) for one in lesson.foretold]
        out.print(table(("Trial", "Measure", "Read", "By the table", "By the other trials", ""), checks))
    _list("Series of blends", lesson.told)
    _list("Not used", lesson.out)
    _list("Does not fit", lesson.unfit)
    if not lesson.numbers:
        out.print("No reading speaks of a number of the table.")
    elif told and lesson.learned:
        out.print("\nNothing was written: --write adds what was learned to learned.csv.")


def _list(title: str, texts: tuple[str, ...]) -> None:
    if texts:
        out = console()
        out.print()
        out.print(title, style="bold")
        for text in texts:
            point(out, text)


def _row(one: Number, decimal: DecimalMark) -> tuple[str, ...]:
    after = ends_text(one.after, decimal) if one.state == "learned" else ""
    return (
        first_upper(one.told),
        one.unit,
        before_text(one, decimal),
        after,
        ", ".join(one.trials) if one.state == "learned" else "",
        STATES[one.state],
    )
