"""Shares that passed the judge, dressed as a proposal."""

from __future__ import annotations

import math
from collections.abc import Mapping
from fractions import Fraction

from optimiser.checks.allergens import allergens, not_counted
from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import judge
from optimiser.checks.measures import cost
from optimiser.domain.outcome import Proposal, ProposedLine, Stage
from optimiser.domain.request import Request, Slot
from optimiser.search import effects, resting, telling
from optimiser.search.by_models import foretold_of
from optimiser.search.changes import changes
from optimiser.search.foretold import on_paper
from optimiser.search.moved import moved
from optimiser.search.stages import StageResult

ZERO = Fraction(0)
PLACES = 9
ROUNDING = Fraction(1, 100)
"""What whole steps may cost, as a part of the bound: farther from it, an answer is not called the best."""


def dress(
    request: Request, shares: Mapping[Slot, Fraction], results: tuple[StageResult, ...], heading: str = ""
) -> Proposal:
    """The proposal of shares on the grid; every number in it is exact or marked as a bound."""
    verdicts = judge(request, shares)
    now = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)
    base = Amounts(tuple(sorted(request.base.items())), request.ingredients)
    jar = foretold_of(request, now)
    measured = telling.measured(request, shares, jar)
    return Proposal(
        heading=heading,
        lines=_lines(request, shares),
        stages=tuple(_stage(result, request, shares) for result in results),
        verdicts=verdicts,
        measures=measured,
        changes=changes(request, shares, verdicts),
        roles=telling.roles(request, shares),
        unmet_wishes=tuple(v for v in verdicts if v.rule.head.rank is not None and not v.met),
        departure_parts=telling.departure(request, shares),
        cost_per_kg=next(one.value for one in measured if one.name == "cost"),
        sets_off=(*moved(request, base, now, measured), *effects.sets_off(request, shares)),
        warnings=effects.warnings(request, shares),
        rests_on=resting.rests_on(request, shares, verdicts),
        allergens=allergens(request.labels, now),
        not_counted=not_counted(now),
        on_paper=on_paper(request, now, jar),
    )


def _lines(request: Request, shares: Mapping[Slot, Fraction]) -> tuple[ProposedLine, ...]:
    """Phases as the formula has them; in a phase its own lines first, then newcomers by share."""
    found = []
    for phase in request.formula.phases:
        own = [Slot(line.ingredient, phase.name) for line in phase.lines]
        new = sorted(
            (s for s in shares if s.phase == phase.name and s not in own),
            key=lambda s: (-shares[s], s.ingredient),
        )
        found += [
            ProposedLine(
                slot.ingredient,
                slot.phase,
                shares[slot],
                request.base.get(slot, ZERO),
                slot == request.filler,
                request.dosed.get(slot),
            )
            for slot in (*dict.fromkeys(own), *new)
            if shares.get(slot)
        ]
    return tuple(found)


def _stage(result: StageResult, request: Request, shares: Mapping[Slot, Fraction]) -> Stage:
    """The stage's value recomputed on the printed shares, beside the bound the solver proved."""
    bound = Fraction(repr(round(result.bound, PLACES)))
    value = _exact(result, request, shares)
    if value is None:
        value = Fraction(repr(round(result.value, PLACES)))
    close = value - bound <= ROUNDING * max(Fraction(1), abs(bound))
    return Stage(result.name, value, bound, result.optimal and close, result.unit)


def _exact(result: StageResult, request: Request, shares: Mapping[Slot, Fraction]) -> Fraction | None:
    if result.name == "departure":
        return sum((part for _, part in telling.departure(request, shares)), ZERO)
    if result.name == "cost":
        return cost(Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients))
    if result.name == "ingredients":
        return Fraction(len({slot.ingredient for slot, share in shares.items() if share}))
    if result.name == "lines changed":
        moved = [
            s
            for s in request.slots
            if s != request.filler
            and s not in request.fixed
            and shares.get(s, ZERO) != request.base.get(s, ZERO)
        ]
        came = {s.ingredient for s in moved if not request.base.get(s)}
        return Fraction(len(came) + sum(1 for s in moved if request.base.get(s)))
    if result.name == "cash to spend now":
        return _cash(request, shares)
    return None


def _cash(request: Request, shares: Mapping[Slot, Fraction]) -> Fraction:
    """Price of the whole packs that the usual batch needs beyond the shelf."""
    spent, shelf = ZERO, request.shelf_g or {}
    for name, share in telling.totals(shares).items():
        pack = request.ingredients[name].pack
        missing = share / 100 * request.batch_g - shelf.get(name, ZERO)
        if pack is not None and missing > 0:
            spent += math.ceil(missing / pack.grams) * pack.price
    return spent
