"""A formula near the base that the judge passes, by one solve: what a further concession is shown with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.acidity import strength_of
from optimiser.checks.amounts import Amounts
from optimiser.checks.measures import cost
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import Request, Slot
from optimiser.lp.aims import departure, wish_cost
from optimiser.lp.build import build
from optimiser.lp.scope import Scope
from optimiser.search.grid import on_grid
from optimiser.search.settling import answer_of
from optimiser.search.stages import Optimum, StageResult, predicted
from optimiser.search.telling import totals
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Outcome, Solution

REWRITES = 2
NODES = 150
WISHES = Fraction(10)


@dataclass(frozen=True, slots=True)
class Made:
    """Shares that the judge passed, by ingredient in %, their material cost per kg, and what was proved."""

    lines: tuple[tuple[str, Fraction], ...]
    cost_per_kg: Fraction | None
    shares: Mapping[Slot, Fraction]
    stages: tuple[StageResult, ...] = ()


def quick_formula(request: Request, limits: Limits) -> Made | None:
    """None where none was found, which proves nothing."""
    at = start_of(request)
    for _ in range(REWRITES if at is not None else 1):
        optimum = _nearest(request, limits, at)
        if optimum is None:
            return None
        shares = on_grid(request, optimum, limits, quick=True)
        if shares is not None:
            return replace(made_of(request, shares), stages=optimum.stages)
        if at is not None:
            at = answer_of(request, optimum, at.ionic)
    return None


def made_of(request: Request, shares: Mapping[Slot, Fraction]) -> Made:
    amounts = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)
    lines = tuple((name, share) for name, share in sorted(totals(shares).items()) if share)
    return Made(lines, cost(amounts), shares)


def start_of(request: Request) -> Incumbent | None:
    """Where rows that are not linear are first written: at the base; None where all are."""
    if not any(predicted(rule) for rule in request.rules):
        return None
    floats = {slot: float(share) for slot, share in request.base.items()}
    base: dict[str, Fraction] = {}
    for slot, share in request.base.items():
        if slot.ingredient in request.ingredients:
            base[slot.ingredient] = base.get(slot.ingredient, Fraction(0)) + share
    return Incumbent(base, strength_of(request, floats))


def _nearest(request: Request, limits: Limits, at: Incumbent | None) -> Optimum | None:
    """Least departure from the base, each missed wish beside it, within a few hundred nodes."""
    model = build(request, incumbent=at)
    aim = departure(Scope(request))
    rows = {row.name for row in model.rows}
    known = {var.name for var in model.vars}
    model = replace(
        model,
        vars=(*model.vars, *(var for var in aim.vars if var.name not in known)),
        rows=(*model.rows, *(row for row in aim.rows if row.name not in rows)),
    )
    weights = dict(aim.cost)
    for rank in sorted({rule.head.rank for rule in request.rules if rule.head.rank is not None}):
        weights |= {name: value * WISHES for name, value in wish_cost(request, model, rank).items()}
    answer = solve_milp(model.with_cost(weights), replace(limits, nodes=NODES))
    if not answer.has_values or answer.objective is None:
        return None
    stage = StageResult(aim.name, aim.unit, aim, answer.objective, *_proved(request, answer))
    return Optimum(model, answer.values, (stage,))


def _proved(request: Request, answer: Solution) -> tuple[float, bool]:
    """(bound, whether it is the best): nothing is claimed where rows bend or wishes are weighed in."""
    weighed = any(predicted(rule) or rule.head.rank is not None for rule in request.rules)
    if weighed or answer.bound is None:
        return 0.0, False
    return answer.bound, answer.outcome is Outcome.OPTIMAL
