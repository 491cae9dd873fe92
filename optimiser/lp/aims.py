"""What is made small, stage by stage: objectives over the rows of `build`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.brief import Aim
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Mean, Rule, Share
from optimiser.lp import names
from optimiser.lp.families import measure, price
from optimiser.lp.scope import HUNDRED, Coefs, Scope, binary, merged, scaled
from optimiser.lp.weights import Side
from optimiser.model.rows import Model, Row, Var

ONE, ZERO = Fraction(1), Fraction(0)
STEP_PART = Fraction(1, 100)
"""A wish's step where nothing else is said: 1 % of its limit."""
LEAST_STEP = Fraction(1, 10**5)
"""A hundredth of a printed step: below it a miss by the solver's own tolerance would count as many steps."""


@dataclass(frozen=True, slots=True)
class Objective:
    """A stage: what is minimised, the rows and variables it needs, and whether its values are whole."""

    name: str
    cost: Coefs
    constant: Fraction = ZERO
    vars: tuple[Var, ...] = ()
    rows: tuple[Row, ...] = ()
    whole: bool = False
    unit: str = ""


STAGES: dict[Aim, tuple[str, ...]] = {
    "closest": ("departure", "cost"),
    "cheapest": ("cost", "departure"),
    "fewest-changes": ("lines changed", "departure", "cost"),
    "fewest-ingredients": ("ingredients", "departure", "cost"),
    "shelf-first": ("cash to spend now", "departure", "cost"),
}


def objectives(request: Request) -> tuple[Objective, ...]:
    """Wishes by rank, then the aims in order, each stage once, then the tie-break by id."""
    scope = Scope(request)
    wanted: list[str] = []
    for aim in request.aim:
        wanted += [stage for stage in STAGES[aim] if stage not in wanted]
    return (*_wishes(request), *(_BY_NAME[name](scope) for name in wanted), tie_break(request))


def _wishes(request: Request) -> tuple[Objective, ...]:
    ranks = sorted({rule.head.rank for rule in request.rules if rule.head.rank is not None})
    return tuple(Objective(f"wishes of rank {rank}", {}, unit="steps") for rank in ranks)


def wish_cost(request: Request, model: Model, rank: int) -> Coefs:
    """Sum of misses over the wishes of one rank, each in its own steps."""
    cost: Coefs = {}
    for rule in request.rules:
        if rule.head.rank == rank:
            own = names.slack(rule.head.id, "")
            per = 1 / step_of(rule)
            cost |= {v.name: per for v in model.vars if v.name[: v.name.rfind(":") + 1] == own}
    return cost


def step_of(rule: Rule) -> Fraction:
    """The smallest giving-way worth naming, in the unit of the limit: 1 % of the limit, or one whole.

    Of a limit below 0.001 it is `LEAST_STEP`.
    """
    limits = [abs(x) for x in (getattr(rule, "low", None), getattr(rule, "high", None)) if x]
    return max(max(limits) * STEP_PART, LEAST_STEP) if limits else ONE


def departure(scope: Scope) -> Objective:
    """Half the points moved, plus parts of each base line, plus carried measures, plus newcomers."""
    request, weights = scope.request, scope.request.weights
    cost: Coefs = {}
    variables: list[Var] = []
    rows: list[Row] = []
    for slot in request.slots:
        base = request.base.get(slot, ZERO)
        if not base:
            cost[names.share(slot)] = weights.points
            continue
        each = weights.points
        if slot != request.filler and slot not in request.fixed:
            each += weights.parts / base
        variables += [Var(names.up(slot), ZERO, None, "C"), Var(names.down(slot), ZERO, base, "C")]
        rows.append(_moved(slot, base))
        cost |= {names.up(slot): each, names.down(slot): each}
    for pull in request.pulls:
        per = HUNDRED if isinstance(pull.of, Mean) else ONE
        surely: Side = "low" if isinstance(pull.of, Share) else "high"
        coefs = scaled(measure(pull.of, scope, surely), ONE / per)
        variables.append(Var(names.off(pull.name), ZERO, None, "C"))
        rows += _distance(pull.name, coefs, pull.target)
        cost[names.off(pull.name)] = weights.pulls / pull.half_width
    own = request.formula.ingredients
    for ingredient in sorted(set(scope.slots_of) - own):
        cost[names.used(ingredient)] = weights.newcomer if ingredient in request.newcomers else weights.line
    return Objective("departure", cost, ZERO, tuple(variables), tuple(rows), unit="points")


def _moved(slot: Slot, base: Fraction) -> Row:
    coefs = {names.share(slot): ONE, names.up(slot): -ONE, names.down(slot): ONE}
    return Row(f"aim:moved:{slot}", tuple(sorted(coefs.items())), base, base, "aim", "")


def _distance(name: str, coefs: Coefs, target: Fraction) -> list[Row]:
    above = merged(coefs, {names.off(name): -ONE})
    below = merged(coefs, {names.off(name): ONE})
    return [
        Row(f"aim:above:{name}", tuple(sorted(above.items())), None, target, "aim", ""),
        Row(f"aim:below:{name}", tuple(sorted(below.items())), target, None, "aim", ""),
    ]


def _cost(scope: Scope) -> Objective:
    unit = f"{scope.request.currency}/kg"
    return Objective("cost", scaled(price(scope), ONE / HUNDRED), unit=unit)


def _ingredients(scope: Scope) -> Objective:
    return Objective("ingredients", {names.used(i): ONE for i in sorted(scope.slots_of)}, whole=True)


def _lines_changed(scope: Scope) -> Objective:
    request = scope.request
    cost: Coefs = {}
    variables: list[Var] = []
    rows: list[Row] = []
    for slot in request.slots:
        if slot == request.filler or slot in request.fixed:
            continue
        base = request.base.get(slot, ZERO)
        if not base:
            cost[names.used(slot.ingredient)] = ONE
            continue
        flag = names.changed(slot)
        cost[flag] = ONE
        variables.append(binary(flag, f"{slot} differs from the base"))
        more = {names.share(slot): ONE, flag: -(HUNDRED - base)}
        less = {names.share(slot): ONE, flag: base}
        rows.append(Row(f"aim:more:{slot}", tuple(sorted(more.items())), None, base, "aim", ""))
        rows.append(Row(f"aim:less:{slot}", tuple(sorted(less.items())), base, None, "aim", ""))
    return Objective("lines changed", cost, ZERO, tuple(variables), tuple(rows), whole=True)


def _cash(scope: Scope) -> Objective:
    request = scope.request
    shelf = request.shelf_g or {}
    cost: Coefs = {}
    variables: list[Var] = []
    rows: list[Row] = []
    for ingredient in sorted(scope.slots_of):
        pack = request.ingredients[ingredient].pack
        if pack is None:
            continue
        name = names.packs(ingredient)
        there = shelf.get(ingredient, ZERO) / request.batch_g * HUNDRED
        per_pack = pack.grams / request.batch_g * HUNDRED
        variables.append(Var(name, ZERO, None, "I", f"packs of {ingredient} to buy"))
        coefs = merged(scope.total(ingredient), {name: -per_pack})
        rows.append(Row(f"aim:buy:{ingredient}", tuple(sorted(coefs.items())), None, there, "aim", ""))
        cost[name] = pack.price
    return Objective("cash to spend now", cost, ZERO, tuple(variables), tuple(rows), unit=request.currency)


def tie_break(request: Request) -> Objective:
    """Settles what is left: lighter weights for ids earlier in the alphabet."""
    order = sorted(request.slots)
    cost = {names.share(s): Fraction(round(math.isqrt((n + 1) * 10**12)), 10**6) for n, s in enumerate(order)}
    return Objective("tie", cost)


_BY_NAME = {
    "departure": departure,
    "cost": _cost,
    "ingredients": _ingredients,
    "lines changed": _lines_changed,
    "cash to spend now": _cash,
}
