"""Planned trials as JSON; numbers of shares are decimal strings in % w/w."""

from __future__ import annotations

import math
from typing import Any

from optimiser.export.plain import clean, decimal_text
from optimiser.statistics.exchange import Told
from optimiser.trials.next_trials import Batch, NextTrials

FORMAT = 1


def next_dict(planned: NextTrials) -> dict[str, Any]:
    """`criterion` is D (joint uncertainty of the coefficients) or I (mean variance of a prediction);
    variances are in units of one reading's variance."""
    room, wanted = planned.room, planned.wanted
    return {
        "format": FORMAT,
        "formula": room.request.formula.id,
        "model": wanted.kind,
        "terms": [list(term) for term in planned.model.terms],
        "criterion": wanted.criterion,
        "seed": wanted.seed,
        "days_apart": wanted.by_days,
        "room": [
            {
                "ingredient": slot.ingredient,
                "name": clean(name),
                "from": decimal_text(round(low, 6)),
                "to": decimal_text(round(high, 6)),
                "least_held_by": [clean(one) for one in _once(planned, part, most=False)],
                "most_held_by": [clean(one) for one in _once(planned, part, most=True)],
            }
            for part, (slot, name) in enumerate(zip(room.slots, planned.parts, strict=True))
            for low, high in [room.corners.span(part)]
        ],
        "corners": [[decimal_text(round(v, 6)) for v in point] for point in room.corners.points],
        "left_to_the_judge": [clean(one) for one in room.by_judge],
        "candidates": planned.passed,
        "batches": [_batch(planned, batch) for batch in planned.batches],
        "earlier": [
            {
                "trial": one.id,
                "percent": [decimal_text(round(v, 6)) for v in one.point],
                "why_not": clean(one.why_not),
                "day": clean(one.day),
            }
            for one in planned.earlier
        ],
        "refused": [
            {
                "what": one.what,
                "percent": [decimal_text(round(v, 6)) for v in one.point],
                "breaks": clean(one.verdict.rule.head.sentence),
            }
            for one in planned.refused
        ],
        "before": _told(planned.before),
        "after": _told(planned.after),
    }


def _once(planned: NextTrials, part: int, *, most: bool) -> tuple[str, ...]:
    return tuple(dict.fromkeys(planned.room.corners.holders(part, most=most)))


def _batch(planned: NextTrials, batch: Batch) -> dict[str, Any]:
    return {
        "number": batch.number,
        "block": batch.block,
        "again": batch.again,
        "what": batch.spot.what,
        "drawn_in": decimal_text(batch.spot.drawn),
        "percent": {
            slot.ingredient: decimal_text(value)
            for slot, value in zip(planned.room.slots, batch.spot.point, strict=True)
        },
        "mean_variance_without": _rounded(batch.without),
    }


def _told(told: Told | None) -> dict[str, Any] | None:
    if told is None:
        return None
    return {
        "ln_det": _rounded(told.log_det),
        "mean_variance": _rounded(told.mean_variance),
        "terms": told.terms,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 6)
