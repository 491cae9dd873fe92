"""What holds each line of a proposal where it stands, how far it could move, and what would come instead."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.acidity import strength_of
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Rule
from optimiser.domain.why import LineWhy, Span
from optimiser.lp import names
from optimiser.lp.aims import Objective, objectives
from optimiser.lp.build import build
from optimiser.model.rows import Model, Row
from optimiser.search.changes import holds_it
from optimiser.search.telling import totals
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Outcome, Solution
from optimiser.solver.moving import Moving, narrowed

ZERO, ONE = Fraction(0), Fraction(1)
SLACK = Fraction(1, 10**4)
"""By so much an equally good formula may be worse by the aim: what whole steps cost."""
SHOWN = Fraction(1, 1000)
MOST_NAMES = 3
WAYS = (Fraction(1), Fraction(-1))
"""The least of a share, and the most."""
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Ground:
    """A request with its proposal: where rows are written, and what the first aim reached."""

    request: Request
    proposal: Proposal
    at: Incumbent
    aim: Objective
    best: Fraction
    limits: Limits


def ground_of(request: Request, proposal: Proposal, limits: Limits) -> Ground:
    """Rows are written at the proposal itself, so that it meets them."""
    shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
    strength = strength_of(request, {slot: float(share) for slot, share in shares.items()})
    aim = next(one for one in objectives(request) if not one.name.startswith("wishes"))
    reached = next(stage.value for stage in proposal.stages if stage.name == aim.name)
    return Ground(request, proposal, Incumbent(totals(shares), strength), aim, reached, limits)


def lines_of(ground: Ground, tell: Tell) -> tuple[LineWhy, ...]:
    """Every ingredient of the proposal, in the order of its lines."""
    musts = _musts(ground)
    aimed = aimed_at(ground, musts)
    free, good = Moving(musts), Moving(_as_good(ground, aimed))
    found = []
    for name in dict.fromkeys(line.ingredient for line in ground.proposal.lines):
        tell(f"looking how far {ground.request.ingredients[name].name} may move")
        one = _line(ground, name, free, good)
        found.append(one if one.needed else _without(ground, one, aimed))
    return tuple(found)


def _line(ground: Ground, name: str, free: Moving, good: Moving) -> LineWhy:
    request, proposal = ground.request, ground.proposal
    share = sum((line.percent for line in proposal.lines if line.ingredient == name), ZERO)
    held = [v.rule for v in proposal.verdicts if holds_it(v, name, share, request)]
    one = LineWhy(
        name,
        request.ingredients[name].name,
        share,
        _span(ground, name, free),
        _span(ground, name, good),
        told_once(held),
    )
    return replace(one, needed=name == request.filler.ingredient)


def told_once(rules: Sequence[Rule]) -> tuple[str, ...]:
    """Sentences of what holds a line, each hold once.

    Of what is carried over from the base a floor goes that a band of the same share has too, and shares with
    one floor are told together.
    """
    carried = [rule for rule in rules if rule.head.basis == "carried" and ": " in rule.head.sentence]
    bands = {(_told(rule)[0], _floor(rule)) for rule in carried if getattr(rule, "high", None) is not None}
    heads: dict[str, list[str]] = {}
    for rule in rules:
        who, rest = _told(rule) if rule in carried else ("", rule.head.sentence)
        if rule in carried and getattr(rule, "high", None) is None and (who, _floor(rule)) in bands:
            continue
        heads.setdefault(rest, [])
        heads[rest] += [who] if who and who not in heads[rest] else []
    return tuple(f"{_together(who)}: {rest}" if who else rest for rest, who in heads.items())


def _told(rule: Rule) -> tuple[str, str]:
    who, _, rest = rule.head.sentence.partition(": ")
    return who, rest


def _floor(rule: Rule) -> Fraction | None:
    found: Fraction | None = getattr(rule, "low", None)
    return found


def _together(who: Sequence[str]) -> str:
    return " and ".join([who[0], *(one[:1].lower() + one[1:] for one in who[1:])])


def _musts(ground: Ground) -> Model:
    """Every must, written at the proposal; what wishes reached is not held."""
    wishes = {rule.head.id for rule in ground.request.rules if rule.head.rank is not None}
    return build(ground.request, without=wishes, incumbent=ground.at)


def aimed_at(ground: Ground, model: Model) -> Model:
    """The model with the first aim as its cost."""
    known = {var.name for var in model.vars}
    fresh = tuple(var for var in ground.aim.vars if var.name not in known)
    whole = replace(model, vars=(*model.vars, *fresh)).with_rows(ground.aim.rows)
    return whole.with_cost(ground.aim.cost)


def _as_good(ground: Ground, aimed: Model) -> Model:
    """The first aim no worse than the proposal."""
    held = ground.best + max(SLACK, abs(ground.best) * SLACK) - ground.aim.constant
    cost = tuple(sorted(ground.aim.cost.items()))
    row = Row("why:as-good", cost, None, held, "aim", ground.aim.name)
    return narrowed(aimed, held).with_rows((row,)).with_cost({})


def _span(ground: Ground, name: str, model: Moving) -> Span | None:
    """The least and the most of an ingredient, to the shown step outward."""
    ends = []
    for way in WAYS:
        model.move_cost({names.share(slot): way for slot in ground.request.slots if slot.ingredient == name})
        answer = model.solve(ground.limits)
        if answer.outcome is not Outcome.OPTIMAL or answer.objective is None:
            return None
        ends.append(way * Fraction(repr(answer.objective)))
    least, most = (round(end / SHOWN) * SHOWN for end in ends)
    return min(least, most), max(least, most)


def _without(ground: Ground, one: LineWhy, aimed: Model) -> LineWhy:
    """The best formula without the ingredient: how far behind, how much dearer, what comes instead."""
    gone = [slot for slot in ground.request.slots if slot.ingredient == one.ingredient]
    bounds = {names.share(slot): (ZERO, ZERO) for slot in gone} | {names.used(one.ingredient): (ZERO, ZERO)}
    bounds |= {names.held(slot): (ZERO, ZERO) for slot in gone if slot in ground.request.fixed}
    model = aimed.without_rules(_tied(ground.request, one.ingredient)).with_bounds(bounds)
    answer = solve_milp(model, ground.limits)
    if answer.outcome is Outcome.INFEASIBLE:
        return replace(one, needed=True)
    if answer.outcome is not Outcome.OPTIMAL or answer.objective is None:
        return one
    behind = Fraction(repr(answer.objective)) + ground.aim.constant - ground.best
    answer = _by_next_aim(ground, model, answer)
    money, own = _money(ground.request, answer), ground.proposal.cost_per_kg
    dearer = None if money is None or own is None else money - own
    return replace(one, behind=behind, dearer=dearer, then=_instead(ground, one, answer))


def _by_next_aim(ground: Ground, model: Model, answer: Solution) -> Solution:
    """Of the formulas as good by the first aim, the one that the next aim chooses, as in a proposal."""
    aims = [one for one in objectives(ground.request) if not one.name.startswith("wishes")]
    if len(aims) < 2 or answer.objective is None:
        return answer
    reached = Fraction(repr(answer.objective))
    cost = tuple(sorted(ground.aim.cost.items()))
    row = Row("why:as-good", cost, None, reached + max(SLACK, abs(reached) * SLACK), "aim", ground.aim.name)
    known = {var.name for var in model.vars}
    fresh = tuple(var for var in aims[1].vars if var.name not in known)
    rows = {one.name for one in model.rows}
    more = tuple(one for one in aims[1].rows if one.name not in rows)
    held = replace(model, vars=(*model.vars, *fresh)).with_rows((row, *more)).with_cost(aims[1].cost)
    chosen = solve_milp(held, ground.limits)
    return chosen if chosen.outcome is Outcome.OPTIMAL else answer


def _tied(request: Request, name: str) -> set[str]:
    """Rules that custom ties to the ingredient itself: they would forbid asking."""
    return {
        rule.head.id
        for rule in request.rules
        if rule.head.basis == "carried" and getattr(rule, "ingredient", "") == name
    }


def _money(request: Request, answer: Solution) -> Fraction | None:
    total = ZERO
    for slot in request.slots:
        price = request.ingredients[slot.ingredient].price_per_kg
        share = Fraction(repr(answer.values.get(names.share(slot), 0.0)))
        if share > SHOWN and price is None:
            return None
        total += share / 100 * (price or ZERO)
    return total


def _instead(ground: Ground, one: LineWhy, answer: Solution) -> tuple[str, ...]:
    """What the formula without it has more of, the largest first."""
    now = ground.at.shares
    then: dict[str, Fraction] = {}
    for slot in ground.request.slots:
        share = Fraction(repr(answer.values.get(names.share(slot), 0.0)))
        then[slot.ingredient] = then.get(slot.ingredient, ZERO) + share
    more = {name: share - now.get(name, ZERO) for name, share in then.items() if name != one.ingredient}
    ranked = sorted((name for name, by in more.items() if by > SHOWN), key=lambda n: (-more[n], n))
    return tuple(ground.request.ingredients[name].name for name in ranked[:MOST_NAMES])
