"""A curve as JSON; schema/tradeoff.schema.json says what stands where."""

from __future__ import annotations

from typing import Any

from optimiser.domain.curve import Axis, Curve, CurvePoint, Spot
from optimiser.export.curve_words import names_of, proof_of
from optimiser.export.plain import clean, decimal_text, quantity

FORMAT = 1


def curve_dict(found: Curve) -> dict[str, Any]:
    """Numbers as decimal strings with their unit."""
    return {
        "format": FORMAT,
        "formula": found.request.formula.id,
        "name": clean(found.request.name),
        "first": _axis(found.first),
        "second": _axis(found.second),
        "base": [quantity(found.base[0], found.first.unit), quantity(found.base[1], found.second.unit)],
        "exact": found.exact,
        "by_rows": found.by_rows,
        "within": decimal_text(found.within),
        "told": list(proof_of(found)),
        "pieces": [[_spot(spot) for spot in piece] for piece in found.pieces],
        "points": [_point(found, point) for point in found.points],
        "left_out": found.left_out,
        "refused": found.refused,
    }


def _axis(axis: Axis) -> dict[str, Any]:
    wanted = "most" if axis.more else "least"
    return {"asked": clean(axis.asked), "name": clean(axis.name), "unit": axis.unit, "wanted": wanted}


def _spot(spot: Spot) -> list[str]:
    return [decimal_text(spot[0]), decimal_text(spot[1])]


def _point(found: Curve, point: CurvePoint) -> dict[str, Any]:
    names = names_of(found)
    return {
        "number": point.number,
        "first": quantity(point.first, found.first.unit),
        "second": quantity(point.second, found.second.unit),
        "lines": [
            {
                "ingredient": line.ingredient,
                "name": clean(names[line.ingredient]),
                "phase": line.phase,
                "percent": decimal_text(line.percent),
            }
            for line in point.proposal.lines
        ],
        "changes": [
            {
                "ingredient": shift.ingredient,
                "name": clean(names[shift.ingredient]),
                "before": decimal_text(shift.before),
                "after": decimal_text(shift.after),
            }
            for shift in point.shifts
        ],
    }
