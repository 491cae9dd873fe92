"""What trials taught, on the terminal."""

from __future__ import annotations

from fractions import Fraction

from optimiser.cli.console import console, table
from optimiser.requests.sentences import first_upper
from optimiser.trials.learning import Ends, Foretold, Lesson, Number
from optimiser.units.numbers import DecimalMark, show_number

STATES = {"learned": "learned", "mixed up": "cannot be told apart", "left": "hardly spoken of: as it was"}


def show_lesson(lesson: Lesson, decimal: DecimalMark, *, told: bool = True) -> None:
    """Before and after, what cannot be told apart and what would settle it, the check, what was left out."""
    out = console()
    if lesson.numbers:
        rows = [_row(one, decimal) for one in lesson.numbers]
        out.print(table(("Number", "Unit", "Before", "After", "From", ""), rows))
        out.print("In brackets: 95 of 100 times it lies there.")
    for one in lesson.numbers:
        if one.state == "mixed up":
            out.print()
            partners = " or the ".join(one.partners) or "others"
            out.print(
                f"Refused: these readings cannot tell the {one.told} from the {partners}. "
                f"What would settle it: {one.settled_by}."
            )
    if lesson.foretold:
        out.print()
        out.print("Each trial as the table and as the other trials foretell it", style="bold")
        checks = [_check(one, decimal) for one in lesson.foretold]
        out.print(table(("Trial", "Measure", "Read", "By the table", "By the other trials", ""), checks))
    for title, texts in (("Not used", lesson.out), ("Does not fit", lesson.unfit)):
        if texts:
            out.print()
            out.print(title, style="bold")
            for text in texts:
                out.print(f"  - {text}")
    if not lesson.numbers:
        out.print("No reading speaks of a number of the table.")
    elif told and lesson.learned:
        out.print("\nNothing was written: --write adds what was learned to learned.csv.")


def _row(one: Number, decimal: DecimalMark) -> tuple[str, ...]:
    after = _ends(one.after, decimal) if one.state == "learned" else ""
    return (
        first_upper(one.told),
        one.unit,
        _ends(one.before, decimal),
        after,
        ", ".join(one.trials) if one.state == "learned" else "",
        STATES[one.state],
    )


def _ends(ends: Ends, decimal: DecimalMark) -> str:
    value, low, high = (_short(float(end), decimal) for end in ends)
    return f"{value} ({low} to {high})" if low != high else value


def _short(value: float, decimal: DecimalMark) -> str:
    """Three figures."""
    return show_number(Fraction(f"{value:.3g}"), 9, decimal=decimal)


def _check(one: Foretold, decimal: DecimalMark) -> tuple[str, ...]:
    def told(ends: tuple[float, float, float]) -> str:
        value, low, high = (
            show_number(Fraction(repr(round(end, 2))), 2, decimal=decimal, trim=False)
            if one.unit == "pH"
            else _short(end, decimal)
            for end in ends
        )
        return f"{value} ({low} to {high})"

    name = "pH" if one.measure == "ph" else one.measure
    read = _short(one.read, decimal)
    others = told(one.others) if one.by else "no other trial"
    inside = "" if not one.by else "inside" if one.inside else "outside"
    return (
        one.trial,
        name,
        f"{read} {one.unit}" if one.unit != "pH" else read,
        told(one.table),
        others,
        inside,
    )
