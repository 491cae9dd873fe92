"""Trials as plain data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from optimiser.domain.trials import Entry, Trial
from optimiser.export.plain import clean, decimal_text, quantity
from optimiser.problems import Problem

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
        "block": clean(trial.block),
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
        "dosed_not_weighed": sorted(trial.unweighed_dosed),
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


def import_dict(
    entries: Iterable[tuple[str, Entry]], problems: Iterable[Problem], known: int, *, written: bool
) -> dict[str, Any]:
    """Readings taken from a table, each with its trial; `known` rows were written down before."""
    return {
        "format": FORMAT,
        "written": written,
        "known": known,
        "entries": [{"trial": name, **_entry(one)} for name, one in entries],
        "problems": [asdict(one) for one in problems],
    }


def _entry(one: Entry) -> dict[str, Any]:
    told: dict[str, Any] = {"day": one.day.isoformat(), "what": one.what}
    if one.number:
        told["n"] = one.number
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
