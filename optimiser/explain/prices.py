"""What a limit costs: the next step of it, with the ingredients as they are and with any."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Cost, Rule
from optimiser.domain.why import LimitCost
from optimiser.explain.holding import Ground, aimed_at
from optimiser.lp import names
from optimiser.lp.aims import objectives, step_of
from optimiser.lp.build import build
from optimiser.lp.families import price
from optimiser.lp.scope import Scope
from optimiser.model.rows import Model
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Outcome

ZERO, ONE = Fraction(0), Fraction(1)
TIGHT = Fraction(1, 1000)
SAME = 1e-6
"""Two slopes nearer than this, in the unit of the aim per step, are one."""
FARTHEST = 16
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class _At:
    """The first aim and the money per kg at one value of a limit."""

    aim: float
    money: float


def limit_costs(ground: Ground, most: int, tell: Tell) -> tuple[LimitCost, ...]:
    """Limits that the proposal stands at, what one step of each costs, both ways; the dearest first."""
    found: list[LimitCost] = []
    for verdict in _at_their_limit(ground.proposal.verdicts)[: 2 * most]:
        for side, limit in _sides(verdict):
            tell(f"moving the limit of {verdict.rule.head.sentence}")
            found += _costs(ground, verdict.rule, side, limit)
    telling = [one for one in found if one.aim is None or one.aim or one.money]
    return tuple(sorted(telling, key=_rank)[: most * 2])


def _rank(one: LimitCost) -> tuple[bool, Fraction, str, bool, bool]:
    return one.aim is None, -abs(one.aim or ZERO), one.rule, one.tighter, one.whole


def _at_their_limit(verdicts: tuple[Verdict, ...]) -> list[Verdict]:
    """Musts that somebody may move, with no room left."""
    movable = ("character", "carried", "house")
    return [
        v
        for v in verdicts
        if v.rule.head.rank is None
        and v.rule.head.basis in movable
        and v.margin is not None
        and v.margin <= TIGHT * max(ONE, abs(v.value or ZERO))
        and any(getattr(v.rule, side, None) is not None for side in ("low", "high"))
    ]


def _sides(verdict: Verdict) -> list[tuple[str, Fraction]]:
    """The side without room; both where they are one."""
    found: list[tuple[str, Fraction]] = []
    for side in ("low", "high"):
        limit: Fraction | None = getattr(verdict.rule, side, None)
        if limit is None or verdict.value is None:
            continue
        if abs(verdict.value - limit) <= 2 * TIGHT * max(ONE, abs(limit)):
            found.append((side, limit))
    return found


def _costs(ground: Ground, rule: Rule, side: str, limit: Fraction) -> list[LimitCost]:
    step = step_of(rule)
    found = []
    for whole in (False, True):
        value = cache(_valued(ground, rule, side, whole))
        found += [_one(ground, rule, side, limit, step, tight, whole, value) for tight in (False, True)]
    return found


def _one(
    ground: Ground,
    rule: Rule,
    side: str,
    limit: Fraction,
    step: Fraction,
    tighter: bool,
    whole: bool,
    value: Callable[[Fraction], _At | None],
) -> LimitCost:
    """One step one way, and how far each further step costs the same."""
    by = step if (side == "low") == tighter else -step
    here, there = value(limit), value(limit + by)
    unit = _unit(ground.request, rule)
    if here is None or there is None:
        return LimitCost(rule.head.sentence, side, limit, step, unit, tighter, whole, None, None, None)
    slope = there.aim - here.aim
    until, reach = None, 1
    while reach < FARTHEST and (not abs(slope) < SAME):
        far = value(limit + by * (reach * 2))
        if far is None or abs((far.aim - here.aim) - slope * reach * 2) > SAME * reach * 2 + 1e-5 * abs(
            slope
        ):
            until = limit + by * reach
            break
        reach *= 2
    money = Fraction(repr(round(there.money - here.money, 6)))
    aim = Fraction(repr(round(slope, 6)))
    return LimitCost(rule.head.sentence, side, limit, step, unit, tighter, whole, money, aim, until)


def _valued(ground: Ground, rule: Rule, side: str, whole: bool) -> Callable[[Fraction], _At | None]:
    """The best by the first aim at a value of the limit; with `whole` any ingredients may be used."""
    request = ground.request if whole else _as_it_is(ground)
    rest = _rest(ground, request, rule, whole)
    prices = price(Scope(request))

    def value(limit: Fraction) -> _At | None:
        if limit < 0:
            return None
        moved = replace(rule, **{side: limit})  # type: ignore[arg-type]
        alone = build(replace(request, rules=(moved,)), incumbent=ground.at)
        own = tuple(row for row in alone.rows if row.rule == rule.head.id)
        known = {var.name for var in rest.vars}
        fresh = tuple(var for var in alone.vars if var.name not in known)
        answer = solve_milp(replace(rest, vars=(*rest.vars, *fresh)).with_rows(own), ground.limits)
        if answer.outcome is not Outcome.OPTIMAL or answer.objective is None:
            return None
        money = sum(float(by) / 100 * answer.values.get(name, 0.0) for name, by in prices.items())
        return _At(answer.objective + float(ground.aim.constant), money)

    return value


def _as_it_is(ground: Ground) -> Request:
    """The request with the proposal's own lines alone."""
    here = {name for name, share in ground.at.shares.items() if share}
    request = ground.request
    lines = {(line.ingredient, line.phase) for line in ground.proposal.lines}
    slots = tuple(slot for slot in request.slots if (slot.ingredient, slot.phase) in lines)
    known = {name: one for name, one in request.ingredients.items() if name in here}
    return replace(
        request,
        slots=slots,
        ingredients=known,
        fixed={slot: share for slot, share in request.fixed.items() if slot in slots},
        newcomers=request.newcomers & here,
    )


def _rest(ground: Ground, request: Request, rule: Rule, whole: bool) -> Model:
    """All other musts with the first aim; with the ingredients of the proposal, all of them, or any."""
    wishes = {one.head.id for one in request.rules if one.head.rank is not None}
    aim = next(one for one in objectives(request) if one.name == ground.aim.name)
    model = build(request, without=wishes | {rule.head.id}, incumbent=ground.at)
    model = aimed_at(replace(ground, aim=aim), model)
    if whole:
        return model
    return model.with_bounds({names.used(name): (ONE, ONE) for name in request.ingredients})


def _unit(request: Request, rule: Rule) -> str:
    if isinstance(rule, Cost):
        return f"{request.currency}/kg"
    kind = type(rule).__name__
    return {"Share": "%", "Amount": "%", "UseRange": "%", "Acidity": "pH", "Thickness": "Pa.s"}.get(kind, "")
