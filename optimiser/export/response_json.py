"""A fit as JSON values."""

from __future__ import annotations

from typing import Any

from optimiser.domain.response import Fitted
from optimiser.export.plain import decimal_text
from optimiser.statistics.scheffe import Fit
from optimiser.trials.fitting import Gathered, idle, off_days, scatter_of, unsettled

Value = dict[str, Any]


def fit_dict(told: Gathered, fit: Fit, response: Fitted | None) -> Value:
    """Terms with errors, quality, trial by trial; numbers that were fitted as numbers in twelve digits."""
    terms = zip(fit.terms, fit.coefficients, fit.errors, strict=True)
    lack = fit.lack
    return {
        "format": 1,
        "measure": told.measure,
        "unit": told.unit,
        "model": fit.model.kind,
        "varied": list(told.varied),
        "settings": [
            {
                "name": one.name,
                "unit": one.unit,
                "low": decimal_text(one.low),
                "high": decimal_text(one.high),
            }
            for one in told.settings
        ],
        "settings_uncounted": list(told.uncounted),
        "terms": [
            {"of": list(of), "value": _digits(value), "error": _digits(error)}
            for of, value, error in terms
            if of[:1] != ("block",)
        ],
        "days": _days(told, fit),
        "deviation": _digits(fit.residual),
        "freedom": fit.freedom,
        "left_out_error": _digits(fit.left_out_error),
        "explained": _digits(fit.r_squared),
        "lack_of_fit": None
        if lack is None
        else {
            "ratio": _digits(lack.ratio),
            "chance": _digits(lack.chance),
            "freedom": [lack.misfit_freedom, lack.pure_freedom],
        },
        "unsettled": [list(term) for term in unsettled(fit)],
        "idle": [list(term) for term in idle(fit)],
        "trials": [
            {"trial": name, "reading": decimal_text(own), "fitted": _digits(there), "left_out": _digits(miss)}
            for name, own, there, miss in zip(
                told.trials, told.readings, fit.fitted, fit.left_out, strict=True
            )
        ],
        "not_weighed": list(told.unweighed),
        "usable": response is not None,
    }


def _days(told: Gathered, fit: Fit) -> Value | None:
    """How far each stands off, and the scatter of a jar of another day; None where days do not count."""
    if not told.blocks:
        return None
    scatter, freedom = (None, fit.freedom) if fit.residual is None else scatter_of(fit)
    return {
        "off": {day: _digits(off) for day, off in zip(sorted(set(told.blocks)), off_days(fit), strict=True)},
        "of_trial": dict(zip(told.trials, told.blocks, strict=True)),
        "deviation": _digits(scatter),
        "freedom": freedom,
    }


def _digits(value: float | None) -> str | None:
    return None if value is None else f"{value:.12g}"
