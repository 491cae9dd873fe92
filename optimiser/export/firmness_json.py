"""Firmness and counted batches as plain data for JSON."""

from __future__ import annotations

from typing import Any

from optimiser.domain.firm import Firm
from optimiser.domain.outcome import Batches, Firmness
from optimiser.export.answer_rules import remarks
from optimiser.export.plain import quantity

Value = dict[str, Any]


def firmness_dict(found: Firmness | None, currency: str) -> Value | None:
    """What was asked, the ids of the rules held so, and what each degree costs."""
    if found is None:
        return None
    return {
        "asked": firm_value(found.asked),
        "held": [rule.head.id for rule in found.held],
        "notes": remarks(found.notes),
        "prices": [
            {
                "firm": firm_value(price.firm),
                "possible": price.possible,
                "cost": quantity(price.cost_per_kg, f"{currency}/kg"),
                "departure": quantity(price.departure, "points"),
                "unmet_wishes": price.unmet_wishes,
            }
            for price in found.prices
        ],
    }


def firm_value(firm: Firm | None) -> str | Value | None:
    """`every`, so many numbers, or null for the middle of the data."""
    if firm is None:
        return None
    return "every" if firm.off_at_once is None else quantity(firm.off_at_once, "numbers")


def batches_dict(found: Batches) -> Value:
    """Counts, the 95 % interval of the part that holds, and the rules that were missed, most often first."""
    return {
        "tried": found.tried,
        "met": found.met,
        "part": {"low": quantity(found.low, ""), "high": quantity(found.high, "")},
        "numbers_drawn": found.numbers,
        "missed": [{"rule": one.rule.head.id, "batches": one.count} for one in found.missed],
    }
