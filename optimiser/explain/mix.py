"""Where no single rule can give way enough: the least mix of limits that makes a request possible."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.domain.outcome import Concession
from optimiser.domain.request import Request
from optimiser.domain.rules import Amount, Cost, Level, Mean, Rule, Share
from optimiser.explain.concession import Cure, with_formula
from optimiser.explain.giving import (
    Side,
    beyond,
    changed,
    may_give,
    moved,
    outward,
    sides_of,
    steps_between,
)
from optimiser.explain.rest import WHERE
from optimiser.explain.words import Tongue, reworded, side_words
from optimiser.lp.aims import step_of
from optimiser.lp.build import build
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import solve

NOISE = Fraction(1, 10**6)
TOGETHER = "together"
Moves = list[tuple[Rule, Side, Fraction]]


def least_mix(request: Request, limits: Limits) -> Concession | None:
    """The limits that give least in all, in steps of 1 % each, with the formula; None where none does it."""
    wishes = {rule.head.id for rule in request.rules if rule.head.rank is not None}
    soft = {
        rule.head.id: rule
        for rule in request.rules
        if may_give(rule) and isinstance(rule, Share | Level | Mean | Amount | Cost)
    }
    model = build(request, without=wishes, elastic=set(soft))
    cost = {
        var.name: 1 / step_of(rule)
        for name, rule in soft.items()
        for var in model.vars
        if var.name.startswith(f"w:{name}:")
    }
    answer = solve(model.with_cost(cost), limits=limits)
    if answer.outcome is not Outcome.OPTIMAL:
        return None
    moves: Moves = [
        (rule, side, limit)
        for _, rule in sorted(soft.items())
        for side in sides_of(rule)
        if (limit := _limit(rule, side, answer.values)) != side.asked
    ]
    return _with_formula(request, moves, limits) if moves else None


def _limit(rule: Rule, side: Side, values: Mapping[str, float]) -> Fraction:
    by = Fraction(repr(values.get(f"w:{rule.head.id}:{WHERE[side.which]}", 0.0)))
    if by <= NOISE:
        return side.asked
    return outward(side.asked - by if side.floor else side.asked + by, side)


def _with_formula(request: Request, moves: Moves, limits: Limits) -> Concession | None:
    cure, proposal = with_formula(_cure(request, moves, 0), limits)
    if proposal is None:
        return None
    lines = tuple((line.ingredient, line.percent) for line in proposal.lines)
    return Concession(
        cure.rule,
        cure.asked,
        cure.enough,
        cure.sentence,
        cure.steps,
        proposal,
        lines=lines,
        cost_per_kg=proposal.cost_per_kg,
        together=tuple(r for r in cure.request.rules if r.head.id in {rule.head.id for rule, _, _ in moves}),
    )


def _cure(request: Request, moves: Moves, easing: int) -> Cure:
    """All moves at once, each eased by the same number of shown steps."""
    tongue = Tongue(request)
    steps, told = Fraction(0), []
    other = request
    for rule, side, limit in moves:
        to = beyond(limit, side, easing)
        now = next(r for r in other.rules if r.head.id == rule.head.id)
        words = side_words(rule, side, to, tongue)
        other = changed(other, now, reworded(moved(now, side, to), words))
        steps += steps_between(rule, side, to)
        told.append(words)
    sentence = f"No single rule does it alone; together these would do: {'; '.join(told)}."
    easier = None if easing else (lambda times: _cure(request, moves, times))
    return Cure(moves[0][0], "", TOGETHER, sentence, max(steps, Fraction(1)), other, easier)
