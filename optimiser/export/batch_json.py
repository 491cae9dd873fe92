"""Batches and traces as plain data."""

from __future__ import annotations

from typing import Any

from optimiser.domain.batches import Batch
from optimiser.export.plain import clean, quantity

FORMAT = 1


def batch_dict(batch: Batch) -> dict[str, Any]:
    """A batch with what its entries come to; jars are whole numbers."""
    gone = {one.corrects for one in batch.happened}
    return {
        "format": FORMAT,
        "batch": batch.id,
        "formula": batch.formula,
        "proposal": batch.proposal,
        "made": batch.made.isoformat(),
        "size": quantity(batch.grams, "g"),
        "state": batch.state,
        "jars": {"filled": batch.jars("filled"), "kept": batch.jars("kept"), "here": batch.here},
        "went_to": [{"who": clean(who), "jars": jars} for who, jars in batch.went_to],
        "lots": [
            {"ingredient": one.ingredient, "lot": clean(one.lot), "grams": quantity(one.grams, "g")}
            for one in batch.lots
        ],
        "entries": [
            {
                "n": one.number,
                "day": one.day.isoformat(),
                "what": one.what,
                "jars": one.jars,
                "holds": clean(one.holds),
                "who": clean(one.who),
                "kind": one.kind,
                "text": clean(one.text),
                "corrects": one.corrects,
                "counts": one.number not in gone,
            }
            for one in batch.happened
        ],
    }


def trace_dict(word: str, by: tuple[str, ...], batches: tuple[Batch, ...]) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "traced": clean(word),
        "as": list(by),
        "batches": [batch_dict(one) for one in batches],
    }
