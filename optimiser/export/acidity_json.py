"""The pH of a proposal as it stands in an answer: decimal strings with their units."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from optimiser.export.acidity_sheet import AcidityTold, Curve, Span, State
from optimiser.export.plain import clean, quantity


def acidity_dict(told: AcidityTold) -> dict[str, Any]:
    """`before` and `after` are null and `curves` empty where the pH cannot be told; `why` says why."""
    return {
        "before": _state(told.before),
        "after": _state(told.after),
        "ionic_strength": quantity(told.ionic_strength, "mol/kg"),
        "buffer_capacity": quantity(told.buffer_capacity, "mol/kg/pH"),
        "valid": told.valid,
        "why": [clean(one) for one in told.why],
        "curves": [_curve(one) for one in told.curves],
    }


def _state(state: State | None) -> dict[str, Any] | None:
    if state is None:
        return None
    return {
        **_span(state.made),
        "model_error": _ph(state.model_error),
        "read_1_in_10": _span(state.read),
    }


def _span(span: Span) -> dict[str, Any]:
    return {"ph": _ph(span.ph), "low": _ph(span.low), "high": _ph(span.high)}


def _curve(curve: Curve) -> dict[str, Any]:
    return {
        "ingredient": curve.ingredient,
        "phase": curve.phase,
        "target": _ph(curve.target),
        "points": [
            {
                "grams_per_100g": quantity(point.grams, "g"),
                "low": _ph(point.low),
                "middle": _ph(point.middle),
                "high": _ph(point.high),
            }
            for point in curve.points
        ],
    }


def _ph(value: Fraction) -> dict[str, str] | None:
    return quantity(value, "pH")
