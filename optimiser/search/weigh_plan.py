"""What is weighed of every line so that every rule holds on the weights themselves."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.acidity import strength_of
from optimiser.checks.judge import broken, judge
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Amount, Rule
from optimiser.domain.worktable import Balance
from optimiser.lp import names
from optimiser.lp.build import build
from optimiser.model.rows import Model, Var
from optimiser.search.grid import judged_in_steps, nearest_in_steps
from optimiser.search.stages import predicted
from optimiser.search.telling import totals
from optimiser.search.weighing import STOCK, Weighing, weigh, weighed
from optimiser.solver.interface import Limits

ZERO, HUNDRED = Fraction(0), Fraction(100)
CLEAR = Fraction(10)
"""Grams that 100 g of water have to dissolve of an ingredient for a stock of one part in ten of it."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Weights line by line, and the shares (% w/w) they come to, which the judge has passed.

    `moved` tells that rounding each line alone would have broken a rule, so that the steps were chosen anew.
    """

    weighing: Weighing
    shares: Mapping[Slot, Fraction]
    moved: bool = False


@dataclass(frozen=True, slots=True)
class TooCoarse:
    """No whole steps of these balances keep every rule: what breaks when each line is rounded alone."""

    broken: tuple[Verdict, ...]


def makes_a_stock(ingredient: Ingredient) -> bool:
    """Whether water is known to dissolve one part in ten of it."""
    figure = ingredient.figure("solubility")
    return figure is not None and figure.low >= CLEAR


def plan_weights(
    request: Request,
    lines: tuple[tuple[Slot, Fraction], ...],
    batch_g: Fraction,
    balances: tuple[Balance, ...],
    *,
    diluted: Collection[Slot] = (),
    limits: Limits,
) -> Plan | TooCoarse:
    """Weights of `lines` (in % w/w, together 100) for a batch, every rule kept on what is weighed.

    Each line is rounded first; where that breaks a rule, all steps are chosen together, nearest to the lines.
    Slots in `diluted` are weighed as one part in ten of the filler. A line dosed to a reading is rounded to a
    ceiling that its rules allow.
    """
    slots = tuple(slot for slot, _ in lines)
    filler = slots.index(request.filler)
    tenths = [i for i, slot in enumerate(slots) if slot in diluted]
    first = weigh([share for _, share in lines], batch_g, balances, filler, tenths)
    weighed_request = _by_weight(request, dict(lines), _steps(slots, first))
    shares = _shares(slots, first)
    failed = broken(judge(weighed_request, shares))
    if not failed and all(shares[slot] for slot in slots):
        return Plan(first, shares)
    chosen = _chosen(weighed_request, dict(lines), slots, first, limits)
    if chosen is None:
        return TooCoarse(failed)
    again = weighed(
        first, [chosen[slot] * first.batch_g / HUNDRED for slot in slots], filler, tenths, balances
    )
    return Plan(again, _shares(slots, again), moved=True)


def _steps(slots: tuple[Slot, ...], weighing: Weighing) -> dict[Slot, Fraction]:
    """Least change of each line, in % of the batch."""
    pairs = zip(slots, weighing.weights, strict=True)
    return {slot: weight.step_g / weighing.batch_g * HUNDRED for slot, weight in pairs}


def _by_weight(request: Request, shares: Mapping[Slot, Fraction], steps: Mapping[Slot, Fraction]) -> Request:
    """The request judged on weights: no grid, wishes that were met held like musts.

    A ceiling is rounded down to what the balance reads, and what holds it up gives way by as much.
    """
    missed = {v.rule.head.id for v in judge(request, shares) if not v.met}
    kept = (rule for rule in request.rules if rule.head.rank is None or rule.head.id not in missed)
    by_id = {slot.ingredient: step for slot, step in steps.items() if slot in request.dosed}
    return replace(request, grid=None, rules=tuple(_rounded_down(_held(rule), by_id) for rule in kept))


def _rounded_down(rule: Rule, steps: Mapping[str, Fraction]) -> Rule:
    """A rule that holds a ceiling up, down to the last whole step."""
    if not isinstance(rule, Amount) or rule.low is None or rule.ingredient not in steps:
        return rule
    step = steps[rule.ingredient]
    return replace(rule, low=rule.low // step * step)


def _held(rule: Rule) -> Rule:
    return rule if rule.head.rank is None else replace(rule, head=replace(rule.head, rank=None))


def _shares(slots: tuple[Slot, ...], weighing: Weighing) -> dict[Slot, Fraction]:
    pairs = zip(slots, weighing.weights, strict=True)
    return {slot: weight.grams / weighing.batch_g * HUNDRED for slot, weight in pairs}


def _chosen(
    request: Request,
    aims: Mapping[Slot, Fraction],
    slots: tuple[Slot, ...],
    weighing: Weighing,
    limits: Limits,
) -> dict[Slot, Fraction] | None:
    """Shares in whole steps of each line's balance that the judge passes, nearest to `aims`.

    Rows of a prediction are stricter than the judge: where they leave nothing, the judge alone decides on it.
    """
    steps = _steps(slots, weighing)
    every = {slot: steps.get(slot, HUNDRED) for slot in request.slots}
    for without in (set(), {rule.head.id for rule in request.rules if predicted(rule)}):
        model = _model(request, aims, steps, without)
        found = judged_in_steps(request, model, every, limits)
        if found is not None and all(found.get(slot) for slot in slots):
            return {slot: found[slot] for slot in slots}
    return None


def _model(
    request: Request, aims: Mapping[Slot, Fraction], steps: Mapping[Slot, Fraction], without: set[str]
) -> Model:
    """The request's rows with the ingredients as they are, each line a whole count of steps, at least one."""
    floats = {slot: float(share) for slot, share in aims.items()}
    at = Incumbent(totals(aims), strength_of(request, floats))
    loose = replace(request, fixed={})
    model = build(loose, without=without, incumbent=at)
    here = {slot.ingredient for slot, share in aims.items() if share}
    shares = {names.share(slot): slot for slot in request.slots}
    used = {names.used(slot.ingredient): Fraction(slot.ingredient in here) for slot in request.slots}

    def bounded(var: Var) -> Var:
        if var.name in used:
            return replace(var, lower=used[var.name], upper=used[var.name])
        slot = shares.get(var.name)
        if slot is None:
            return var
        if slot not in steps:
            return replace(var, lower=ZERO, upper=ZERO)
        if slot in request.fixed:
            ceiling = aims[slot] // steps[slot] * steps[slot]
            return replace(var, lower=ceiling, upper=ceiling)
        return replace(var, lower=steps[slot])

    model = replace(model, vars=tuple(bounded(var) for var in model.vars))
    by_name = {names.share(slot): step for slot, step in steps.items()}
    wanted = {names.share(slot): aims.get(slot, ZERO) for slot in steps}
    return nearest_in_steps(model, by_name, wanted)


def with_bands(request: Request, slots: tuple[Slot, ...], plan: Plan) -> Plan:
    """The plan with bands so narrow that a line off by its own alone passes no limit of the law.

    A line off by some grams makes the batch as much larger or smaller. Lines dosed to a reading have no band.
    Rules that the plan meets without room to spare, such as "as much as in the base", narrow nothing: every
    band would be nought.
    """
    law = tuple(rule for rule in request.rules if rule.head.basis == "law")
    judged = replace(request, grid=None, rules=law)
    grams = {slot: w.grams for slot, w in zip(slots, plan.weighing.weights, strict=True)}

    def holds(slot: Slot, by: Fraction) -> bool:
        off = {**grams, slot: grams[slot] + by}
        whole = sum(off.values(), ZERO)
        shares = {one: part / whole * HUNDRED for one, part in off.items()}
        return off[slot] > 0 and not broken(judge(judged, shares))

    weights = []
    for slot, weight in zip(slots, plan.weighing.weights, strict=True):
        if slot in request.dosed:
            weights.append(weight)
            continue
        scale = Fraction(1, STOCK) if weight.stock_g is not None else Fraction(1)
        below, above = weight.weighed_g - weight.low, weight.high - weight.weighed_g
        low = _widest(below, weight.reads_g, lambda by, s=slot, k=scale: holds(s, -by * k))  # type: ignore[misc]
        high = _widest(above, weight.reads_g, lambda by, s=slot, k=scale: holds(s, by * k))  # type: ignore[misc]
        weights.append(replace(weight, low=weight.weighed_g - low, high=weight.weighed_g + high))
    return replace(plan, weighing=replace(plan.weighing, weights=tuple(weights)))


def _widest(band: Fraction, step: Fraction, holds: Callable[[Fraction], bool]) -> Fraction:
    """The band in whole steps, or the widest narrower one that holds, by halving."""
    steps = band // step
    if not steps or holds(steps * step):
        return steps * step
    good, bad = 0, steps
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if holds(middle * step) else (good, middle)
    return good * step
