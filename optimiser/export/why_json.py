"""Why, as plain data."""

from __future__ import annotations

from typing import Any

from optimiser.domain.why import Forced, LimitCost, LineWhy, RunnerUp, Span, Why
from optimiser.export.answer_json import answer_dict
from optimiser.export.comparison import comparison_dict
from optimiser.export.plain import clean, quantity
from optimiser.export.provenance import Provenance

FORMAT = 1


def why_dict(found: Why, *, provenance: Provenance) -> dict[str, Any]:
    """The answer itself, then lines and limits; numbers as decimal strings with their unit."""
    currency = found.outcome.request.currency
    return {
        "format": FORMAT,
        "aim": {"name": found.aim, "unit": found.unit},
        "lines": [_line(one, found.unit, currency) for one in found.lines],
        "limits": [_limit(one, found.unit, currency) for one in found.limits],
        "answer": answer_dict(found.outcome, provenance=provenance),
    }


def _line(one: LineWhy, unit: str, currency: str) -> dict[str, Any]:
    return {
        "ingredient": one.ingredient,
        "name": clean(one.name),
        "share": quantity(one.share, "%"),
        "may": _span(one.may),
        "as_good": _span(one.as_good),
        "held_by": [clean(text) for text in one.held_by],
        "without": {
            "possible": not one.needed,
            "behind": quantity(one.behind, unit),
            "dearer": quantity(one.dearer, f"{currency}/kg"),
            "then": [clean(name) for name in one.then],
        },
        "runner_up": None if one.runner_up is None else _runner_up(one.runner_up, f"{currency}/kg"),
    }


def _runner_up(one: RunnerUp, unit: str) -> dict[str, Any]:
    return {
        "ingredient": one.ingredient,
        "name": clean(one.name),
        "price": quantity(one.price, unit),
        "comes_in": quantity(one.comes_in, unit),
        "share": quantity(one.share, "%"),
        "line": quantity(one.line, "%"),
    }


def _span(span: Span | None) -> dict[str, Any] | None:
    return None if span is None else {"least": quantity(span[0], "%"), "most": quantity(span[1], "%")}


def _limit(one: LimitCost, unit: str, currency: str) -> dict[str, Any]:
    return {
        "rule": clean(one.rule),
        "side": one.side,
        "limit": quantity(one.limit, one.unit),
        "step": quantity(one.step, one.unit),
        "move": "tighter" if one.tighter else "looser",
        "ingredients": "any" if one.whole else "as they are",
        "aim": quantity(one.aim, unit),
        "money": quantity(one.money, f"{currency}/kg"),
        "until": quantity(one.until, one.unit),
    }


def forced_dict(one: Forced, *, provenance: Provenance) -> dict[str, Any]:
    """What was forced, the answer, and it beside the free one."""
    return {
        "asked": clean(one.asked),
        "beside": None if one.beside is None else comparison_dict(one.beside),
        "answer": answer_dict(one.outcome, provenance=provenance),
    }
