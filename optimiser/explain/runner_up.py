"""The runner-up of a line, and the price at which it would come in.

The runner-up is new to the proposal: the best formula without the line has it, for the line's work where one
can do some. At the price asked, the best formula that has it costs exactly what the best formula costs now.
That price is the largest value of (best cost now − cost of all else) / share of the runner-up over every
formula that has it: from any formula the quotient gives a price, the best formula at that price a larger
quotient, until none is larger. Which ingredients are used may change at every step; each quotient is reckoned
in fractions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.rules import Cost
from optimiser.domain.why import LineWhy, RunnerUp
from optimiser.explain.deciding import Least, held_answer
from optimiser.explain.holding import Ground
from optimiser.lp import names
from optimiser.lp.aims import objectives
from optimiser.model.rows import Model
from optimiser.search.stages import NoAnswer, extended, wishes_held
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Outcome

ZERO, ONE, HUNDRED = Fraction(0), Fraction(1), Fraction(100)
SAME = Fraction(1, 10**7)
"""Costs per kg nearer than this are one: what the solver's own numbers differ by."""
TURNS = 30
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Tie:
    """`price` per kg at which it comes in (None: not even for nothing), and the formula it comes in with."""

    price: Fraction | None
    shares: dict[str, Fraction]


def with_runners_up(ground: Ground, lines: tuple[LineWhy, ...], tell: Tell) -> tuple[LineWhy, ...]:
    """Lines with their runner-up, where the first aim is the cost; as they are where it is not."""
    if ground.aim.name != "cost" or not any(line.then for line in lines):
        return lines
    model = _priced(ground)
    best = None if model is None else _best(model, ground.limits)
    if model is None or not isinstance(best, Least):
        return lines
    ties: dict[str, Tie | None] = {}
    found = []
    for line in lines:
        name = _runner_up(ground, line)
        if name is not None and name not in ties:
            tell(f"looking for the price at which {ground.request.ingredients[name].name} comes in")
            ties[name] = tie_of(ground, model, name, best.objective)
        tie = None if name is None else ties[name]
        told = None if name is None or tie is None else _told(ground, name, line, tie)
        found.append(replace(line, runner_up=told))
    return tuple(found)


def _runner_up(ground: Ground, line: LineWhy) -> str | None:
    """Of what comes instead and is new, the one most like the line: in group, then in roles."""
    known = ground.request.ingredients
    ids = {one.name: name for name, one in known.items()}
    new = [ids[name] for name in line.then if not ground.at.shares.get(ids[name])]
    own = known[line.ingredient]
    work = set(own.roles)
    like = {name: (known[name].group == own.group, len(work & {*known[name].roles})) for name in new}
    return max(new, key=lambda name: like[name], default=None)


def _priced(ground: Ground) -> Model | None:
    """Every must but those on the cost, wishes as well met as they can be, the cost to be made least.

    What costs no more than the best now meets every ceiling of the cost that the best meets, whatever the
    price of one ingredient; with that price in its row, such a ceiling would hide it.
    """
    rules = tuple(rule for rule in ground.request.rules if not isinstance(rule, Cost))
    request = replace(ground.request, rules=rules)
    model = wishes_held(request, ground.limits, ground.at)
    if isinstance(model, NoAnswer):
        return None
    aim = next(one for one in objectives(request) if one.name == "cost")
    return extended(model, aim).with_cost(aim.cost)


def tie_of(ground: Ground, model: Model, name: str, best: Fraction) -> Tie | None:
    """The price of `name` at which the best formula with it costs `best`; None where that was not settled."""
    price = ground.request.ingredients[name].price_per_kg
    slots = [names.share(slot) for slot in ground.request.slots if slot.ingredient == name]
    there = model.with_bounds({names.used(name): (ONE, ONE)})
    for turn in range(TURNS):
        if price is None:
            return None
        cost = dict(model.cost) | dict.fromkeys(slots, price / HUNDRED)
        found = _best(there.with_cost(cost), ground.limits)
        if not isinstance(found, Least):
            return None
        if turn and found.objective >= best - SAME:
            return Tie(None if found.objective > best + SAME else price, _shares(ground, found))
        share = sum((found.values[slot] for slot in slots), ZERO)
        rest = found.objective - price * share / HUNDRED
        price = max((best - rest) * HUNDRED / share, ZERO)
    return None


def _best(model: Model, limits: Limits) -> Least | Outcome:
    """The best answer in fractions with the solver's whole numbers, or what the solver says."""
    answer = solve_milp(model, limits)
    if answer.outcome is not Outcome.OPTIMAL:
        return answer.outcome
    return held_answer(model, answer.values) or Outcome.UNKNOWN


def _shares(ground: Ground, found: Least) -> dict[str, Fraction]:
    shares: dict[str, Fraction] = {}
    for slot in ground.request.slots:
        share = found.values[names.share(slot)]
        if share:
            shares[slot.ingredient] = shares.get(slot.ingredient, ZERO) + share
    return shares


def _told(ground: Ground, name: str, line: LineWhy, tie: Tie) -> RunnerUp:
    one = ground.request.ingredients[name]
    return RunnerUp(
        name,
        one.name,
        one.price_per_kg,
        tie.price,
        tie.shares.get(name, ZERO),
        tie.shares.get(line.ingredient, ZERO),
    )
