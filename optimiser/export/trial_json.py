"""Trials as plain data."""

from __future__ import annotations

from typing import Any

from optimiser.domain.trials import Entry, Trial
from optimiser.export.plain import clean, decimal_text, quantity

FORMAT = 1
UNITS = {"at_c": "C", "stored_c": "C", "rate": "1/s", "rpm": "rpm"}


def trial_dict(trial: Trial) -> dict[str, Any]:
    """A trial with what its entries come to; numbers are decimal text with their unit."""
    counting = {one.number for one in trial.counting}
    return {
        "format": FORMAT,
        "trial": trial.id,
        "formula": trial.formula,
        "proposal": trial.proposal,
        "opened": trial.opened.isoformat(),
        "state": trial.state,
        "batch": quantity(trial.batch_g, "g"),
        "lines": [
            {
                "phase": clean(line.phase),
                "ingredient": line.ingredient,
                "planned": quantity(line.grams, "g"),
                "weighed": quantity(trial.weighed.get(line.ingredient), "g"),
                "lot": clean(line.lot),
                "dosed": line.dosed,
            }
            for line in trial.lines
        ],
        "expected": [
            {
                "measure": one.measure,
                "unit": one.unit,
                "value": decimal_text(one.value),
                "low": decimal_text(one.low),
                "high": decimal_text(one.high),
                "model_error": None if one.error is None else decimal_text(one.error),
                "rate": quantity(one.rate, "1/s"),
            }
            for one in trial.expected
        ],
        "entries": [_entry(one) | {"counts": one.number in counting} for one in trial.entries],
    }


def _entry(one: Entry) -> dict[str, Any]:
    told: dict[str, Any] = {"n": one.number, "day": one.day.isoformat(), "what": one.what}
    if one.value is not None:
        told |= {"measure": one.measure, "value": decimal_text(one.value), "unit": one.unit}
    for name in ("ingredient", "lot", "instrument", "spindle", "light", "outcome", "path", "text", "who"):
        if getattr(one, name):
            told[name] = clean(getattr(one, name))
    for name in ("grams", "spread", *UNITS):
        if (value := getattr(one, name)) is not None:
            told[name] = decimal_text(value)
    for name in ("cycles", "corrects"):
        if (number := getattr(one, name)) is not None:
            told[name] = number
    return told
