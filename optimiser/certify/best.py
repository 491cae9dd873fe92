"""Proofs that an answer with whole numbers is the best one: nothing better by a step can exist."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.certify.cases import MAX_LEAVES, prove_infeasible_by_cases
from optimiser.certify.proof import Cases, Feasible, Relaxed
from optimiser.model.rows import Model, Row

BETTER = "a better cost"
FINENESS = Fraction(1, 10**6)


@dataclass(frozen=True, slots=True)
class Best:
    """No answer is better by `step` or more; `exact`: costs come in such steps, so none is better at all."""

    step: Fraction
    exact: bool
    cases: Cases


def prove_best(
    model: Model,
    values: Mapping[str, Fraction],
    lp_solver: Callable[[Model], Relaxed],
    max_leaves: int = MAX_LEAVES,
) -> Best | Feasible | None:
    """The proof for an exact answer; or a better one; or None when the caps did not settle it."""
    reached = model.evaluate(values)
    natural = cost_step(model)
    step = natural or FINENESS * max(Fraction(1), abs(reached))
    found = prove_infeasible_by_cases(asking_better(model, reached, step), lp_solver, max_leaves=max_leaves)
    return Best(step, natural is not None, found) if isinstance(found, Cases) else found


def asking_better(model: Model, reached: Fraction, step: Fraction) -> Model:
    """The model with one more row: a cost better than `reached` by `step` at least."""
    name = BETTER
    while any(row.name == name for row in model.rows):
        name += "_"
    limit = reached - model.constant
    row = (
        Row(name, model.cost, None, limit - step)
        if model.sense == "min"
        else Row(name, model.cost, limit + step, None)
    )
    return model.with_rows([row])


def cost_step(model: Model) -> Fraction | None:
    """The step in which costs come when only whole variables cost something, else None."""
    whole = set(model.whole)
    coefs = [value for name, value in model.cost if value]
    if not coefs or any(name not in whole for name, value in model.cost if value):
        return None
    below = math.lcm(*(value.denominator for value in coefs))
    return Fraction(math.gcd(*(int(value * below) for value in coefs)), below)
