"""Every clash and every way out, as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from optimiser.domain.lists import Clash, Lists, RuleSide, WayOut
from optimiser.domain.outcome import Outcome
from optimiser.export.plain import clean, quantity

FORMAT = 1


def lists_dict(found: Lists, currency: str) -> dict[str, Any]:
    """Counts of what was found, and the first of them; sums as lines of text with exact numbers."""
    return {
        "format": FORMAT,
        "wish": None if found.wish is None else clean(found.wish.head.id),
        "numbers": "assumed" if found.assumed else "known",
        "complete": found.complete and not found.assumed,
        "exhausted": found.exhausted,
        "unsettled": found.unsettled,
        "clashes": {"found": found.clash_count, "listed": [_clash(one) for one in found.clashes]},
        "ways_out": {"found": found.way_count, "listed": [_way(one, currency) for one in found.ways]},
    }


def lists_entry(lists: Sequence[Lists], outcome: Outcome) -> dict[str, Any]:
    """The entry of an answer; nothing where there are no lists."""
    told = [lists_dict(one, outcome.request.currency) for one in lists]
    return {"clashes": told} if told else {}


def _side(one: RuleSide) -> dict[str, Any]:
    head = one.rule.head
    return {"rule": clean(head.id), "side": one.side, "words": clean(one.words), "source": clean(head.source)}


def _clash(one: Clash) -> dict[str, Any]:
    return {
        "members": [_side(side) for side in one.members],
        "always": [{"rule": clean(r.head.id), "sentence": clean(r.head.sentence)} for r in one.always],
        "certified": one.certified,
        "sum": [clean(line) for line in one.proof],
        "whole_in_cases": [clean(title) for title in one.whole],
    }


def _way(one: WayOut, currency: str) -> dict[str, Any]:
    return {
        "give_up": [_side(side) for side in one.members],
        "certified": one.certified,
        "enough": [clean(text) for text in one.limits],
        "formula": [{"ingredient": clean(name), "share": quantity(by, "%")} for name, by in one.lines],
        "cost": quantity(one.cost_per_kg, f"{currency}/kg"),
    }
