"""A batch and its entries as the text of their file."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import yaml

from optimiser.domain.batches import Batch, Event
from optimiser.export.plain import clean, decimal_text

HEAD = "# A batch as it was made. Entries are only ever added; what was wrong is corrected by a later one.\n"
WIDTH = 10_000


def batch_text(batch: Batch) -> str:
    """The file of a batch on which nothing has happened yet; the same batch gives the same bytes."""
    content: dict[str, Any] = {
        "format": 1,
        "batch": batch.id,
        "formula": batch.formula,
        "proposal": batch.proposal,
        "made": batch.made,
        "grams": f"{decimal_text(batch.grams)} g",
        "price_per_jar": _number(batch.price_per_jar),
        "lots": [
            {"ingredient": one.ingredient, "lot": clean(one.lot), "grams": f"{decimal_text(one.grams)} g"}
            for one in batch.lots
        ],
    }
    kept = {key: value for key, value in content.items() if value}
    return HEAD + _dumped(kept) + "entries:\n"


def entry_text(number: int, day: date, what: Event, said: dict[str, str]) -> str:
    """One entry as a line of the list at the end of the file."""
    kept: dict[str, Any] = {"n": number, "day": day, "what": what}
    for key, value in said.items():
        if clean(value):
            kept[key] = int(value) if key in ("jars", "corrects") else clean(value)
    line = yaml.safe_dump([kept], sort_keys=False, allow_unicode=True, width=WIDTH, default_flow_style=None)
    return str(line)


def _number(value: Fraction | None) -> str:
    return "" if value is None else decimal_text(value)


def _dumped(content: dict[str, Any]) -> str:
    return str(
        yaml.safe_dump(content, sort_keys=False, allow_unicode=True, width=110, default_flow_style=None)
    )
