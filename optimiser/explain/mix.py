"""Where no single rule can give way enough: the least mix of limits that makes a request possible."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.outcome import Concession
from optimiser.domain.request import Request
from optimiser.domain.rules import Amount, Cost, Level, Mean, Rule, Share
from optimiser.explain.concession import NEVER, eased, label, moved_limits
from optimiser.lp.aims import step_of
from optimiser.lp.build import build
from optimiser.search.propose import search
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.pulp_backend import solve

EASINGS = 3


def least_mix(request: Request, limits: Limits) -> Concession | None:
    """The limits that give least in all, in steps of 1 % each, with the formula; None where none does it."""
    wishes = {rule.head.id for rule in request.rules if rule.head.rank is not None}
    soft = {
        rule.head.id: rule
        for rule in request.rules
        if rule.head.rank is None
        and rule.head.basis not in NEVER
        and isinstance(rule, Share | Level | Mean | Amount | Cost)
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
    given = {name: moved_limits(rule, answer.values) for name, rule in soft.items()}
    changed = {name: new for name, new in given.items() if new != soft[name]}
    return _with_formula(request, soft, changed, limits) if changed else None


def _with_formula(
    request: Request, soft: Mapping[str, Rule], changed: Mapping[str, Rule], limits: Limits
) -> Concession | None:
    for times in range(EASINGS):
        new = {name: eased(soft[name], rule, times) for name, rule in changed.items()}
        rules = tuple(new.get(rule.head.id, rule) for rule in request.rules)
        found = search(replace(request, rules=rules), limits=limits)
        if found.proposals:
            told = [f"{label(soft[name])} {said(rule)}" for name, rule in sorted(new.items())]
            sentence = f"No single rule does it alone; together these would do: {'; '.join(told)}."
            proposal = replace(found.proposals[0], heading="With these concessions")
            first = soft[min(new)]
            return Concession(first, "", "together", sentence, Fraction(100 * len(new)), proposal)
    return None


def said(rule: Rule) -> str:
    """The new limits in words, as the concession's rule tells them."""
    return rule.head.sentence.partition(": ")[2].removesuffix(" (a concession).")
