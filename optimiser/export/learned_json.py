"""What trials taught, as JSON."""

from __future__ import annotations

from typing import Any

from optimiser.export.plain import decimal_text
from optimiser.statistics.least import Foot
from optimiser.trials.learning import Ends, Foretold, Lesson, Number
from optimiser.trials.series import REASONS, Series

PLACES = 6


def lesson_dict(lesson: Lesson) -> dict[str, Any]:
    """Numbers before and after with their 95 % intervals, and the check on trials left out."""
    return {
        "format": 1,
        "numbers": [_number(one) for one in lesson.numbers],
        "left_out_one_by_one": [_foretold(one) for one in lesson.foretold],
        "series": [_series(one) for one in lesson.series],
        "not_used": list(lesson.out),
        "do_not_fit": list(lesson.unfit),
    }


def _number(one: Number) -> dict[str, Any]:
    return {
        "ingredient": one.cause.ingredient,
        "lot": one.cause.lot,
        "property": one.cause.property,
        "unit": one.unit,
        "state": one.state,
        "before": _ends(one.before) if one.known else None,
        "after": _ends(one.after),
        "variance_left": round(one.part, PLACES),
        "trials": list(one.trials),
        "not_told_from": list(one.partners),
        "settled_by": one.settled_by,
    }


def _series(one: Series) -> dict[str, Any]:
    """A series of creams: HLB and reading of each, and where it holds best, or why that is not told."""
    told = one.foot
    return {
        "trials": list(one.trials),
        "oils": sorted({name for name, _ in one.oils}),
        "read": one.moment.words,
        "hlb": [round(place, PLACES) for place in one.places],
        "values": [round(value, PLACES) for value in one.values],
        "best": {name: round(getattr(told, name), PLACES) for name in ("at", "low", "high", "scatter")}
        if isinstance(told, Foot)
        else None,
        "why_not": "" if isinstance(told, Foot) else REASONS[told.why],
        "settled_by": one.settled_by,
    }


def _ends(ends: Ends) -> dict[str, str]:
    return dict(zip(("value", "low", "high"), map(decimal_text, ends), strict=True))


def _foretold(one: Foretold) -> dict[str, Any]:
    return {
        "trial": one.trial,
        "measure": one.measure,
        "unit": one.unit,
        "read": round(one.read, PLACES),
        "by_the_table": [round(end, PLACES) for end in one.table],
        "by_the_others": [round(end, PLACES) for end in one.others],
        "others": list(one.by),
        "inside": one.inside,
    }
