"""What trials taught, as JSON."""

from __future__ import annotations

from typing import Any

from optimiser.export.plain import decimal_text
from optimiser.trials.learning import Ends, Foretold, Lesson, Number

PLACES = 6


def lesson_dict(lesson: Lesson) -> dict[str, Any]:
    """Numbers before and after with their 95 % intervals, and the check on trials left out."""
    return {
        "numbers": [_number(one) for one in lesson.numbers],
        "left_out_one_by_one": [_foretold(one) for one in lesson.foretold],
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
        "before": _ends(one.before),
        "after": _ends(one.after),
        "variance_left": round(one.part, PLACES),
        "trials": list(one.trials),
        "not_told_from": list(one.partners),
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
