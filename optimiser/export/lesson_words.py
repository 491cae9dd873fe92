"""What trials taught, in words: numbers before and after, each trial as the others foretell it."""

from __future__ import annotations

from fractions import Fraction

from optimiser.requests.sentences import first_upper
from optimiser.trials.learning import Ends, Foretold, Lesson, Number
from optimiser.units.numbers import DecimalMark, show_number

STATES = {"learned": "learned", "mixed up": "cannot be told apart", "left": "too little to tell"}


def ends_text(ends: Ends, decimal: DecimalMark) -> str:
    """`4.2 (3.9 to 4.5)`, three figures."""
    value, low, high = (three_figures(float(end), decimal) for end in ends)
    return f"{value} ({low} to {high})" if low != high else value


def before_text(one: Number, decimal: DecimalMark) -> str:
    return ends_text(one.before, decimal) if one.known else "not known"


def three_figures(value: float, decimal: DecimalMark) -> str:
    return show_number(Fraction(f"{value:.3g}"), 9, decimal=decimal)


def refused(one: Number) -> str:
    """Why a number was not learned, and what would settle it."""
    partners = " or the ".join(one.partners) or "others"
    return (
        f"Refused: these readings cannot tell the {one.told} from the {partners}. "
        f"What would settle it: {one.settled_by}."
    )


def untold(lesson: Lesson) -> tuple[str, ...]:
    """Numbers of which these readings tell too little, each with the reading that would tell it."""
    left = [one for one in lesson.numbers if one.state == "left"]
    return tuple(
        f"{first_upper(one.told)}: it takes {one.settled_by.replace(one.name, 'it')}." for one in left
    )


def measure_name(one: Foretold) -> str:
    return {"ph": "pH", "ph-before": "pH before"}.get(one.measure, one.measure)


def check_texts(one: Foretold, decimal: DecimalMark) -> tuple[str, ...]:
    """Trial, measure, as read, by the table, by the other trials, whether it lies inside."""

    def told(ends: tuple[float, float, float]) -> str:
        value, low, high = (
            show_number(Fraction(repr(round(end, 2))), 2, decimal=decimal, trim=False)
            if one.unit == "pH"
            else three_figures(end, decimal)
            for end in ends
        )
        return f"{value} ({low} to {high})"

    read = three_figures(one.read, decimal)
    others = told(one.others) if one.by else "no other trial"
    inside = "" if not one.by else "inside" if one.inside else "outside"
    return (
        one.trial,
        measure_name(one),
        f"{read} {one.unit}" if one.unit != "pH" else read,
        told(one.table),
        others,
        inside,
    )
