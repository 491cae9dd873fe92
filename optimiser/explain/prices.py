"""What a limit costs: the next step of it, with the ingredients as they are and with any."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Rule
from optimiser.domain.why import LimitCost
from optimiser.explain.holding import Ground, aimed_at
from optimiser.explain.ranging import Fine, piece
from optimiser.explain.words import Sided, Tongue, measure_of
from optimiser.lp import names
from optimiser.lp.aims import objectives, step_of
from optimiser.lp.build import build, rows_alone
from optimiser.lp.families import price
from optimiser.lp.scope import Scope
from optimiser.model.rows import Model, Row, Var
from optimiser.solver.interface import Outcome
from optimiser.solver.moving import Moving

ZERO, ONE = Fraction(0), Fraction(1)
TIGHT = Fraction(1, 1000)
SAME, NOISE = Fraction(1, 10**6), Fraction(1, 10**5)
"""Two values nearer than this, and this part of a step's price, are one."""
FARTHEST = 16
"""So many steps are looked at."""
GRAIN = 50
"""Ends are told to this part of a step."""
Tell = Callable[[str], None]
Shape = tuple[tuple[str, tuple[str, ...]], ...]
Rest = dict[bool, tuple[Request, Model]]


@dataclass(frozen=True, slots=True)
class _At:
    """The first aim and the money per kg at one value of a limit."""

    aim: float
    money: float


def limit_costs(ground: Ground, most: int, tell: Tell) -> tuple[LimitCost, ...]:
    """Limits that the proposal stands at, what one step of each costs, both ways; the dearest first."""
    found: list[LimitCost] = []
    rest = {whole: _rest(ground, whole) for whole in (False, True)}
    for verdict in _at_their_limit(ground.proposal.verdicts)[: 2 * most]:
        for side, limit in _sides(verdict):
            tell(f"moving the limit of {verdict.rule.head.sentence}")
            found += _costs(ground, verdict.rule, side, limit, rest)
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


def _costs(ground: Ground, rule: Rule, side: str, limit: Fraction, rest: Rest) -> list[LimitCost]:
    found = []
    for whole in (False, True):
        value = cache(_valued(ground, rule, side, rest[whole]))
        found += [_one(ground, rule, (side, limit), tight, whole, value) for tight in (False, True)]
    return found


def _one(
    ground: Ground,
    rule: Rule,
    at: tuple[str, Fraction],
    tighter: bool,
    whole: bool,
    value: Callable[[Fraction], _At | None],
) -> LimitCost:
    """One step one way, and up to which limit each further step costs the same."""
    side, limit = at
    step = step_of(rule)
    by = step if (side == "low") == tighter else -step
    here, there = value(limit), value(limit + by)
    unit = _unit(ground.request, rule)
    if here is None or there is None:
        return LimitCost(rule.head.sentence, side, limit, step, unit, tighter, whole, None, None, None)
    aim, money = (Fraction(repr(round(one, 6))) for one in (there.aim - here.aim, there.money - here.money))
    until = _until(value, limit, by, aim) if aim else None
    return LimitCost(rule.head.sentence, side, limit, step, unit, tighter, whole, money, aim, until)


def _until(
    value: Callable[[Fraction], _At | None], limit: Fraction, by: Fraction, aim: Fraction
) -> Fraction | None:
    """Where the price of the step ends; the step itself where it bends or jumps on the way."""

    def aimed(at: Fraction) -> Fraction | None:
        found = value(at)
        return None if found is None else Fraction(repr(found.aim))

    far = max(limit + by * FARTHEST, ZERO)
    fine = Fine(SAME + abs(aim) * NOISE, abs(by) / GRAIN, convex=False)
    found = piece(aimed, limit, by, far, fine)
    if found is not None and found.until is None:
        return None
    if found is None or found.until is None or abs(found.until - limit) <= abs(by):
        return limit + by
    return round(found.until * GRAIN / abs(by)) * abs(by) / GRAIN


def _valued(
    ground: Ground, rule: Rule, side: str, rest: tuple[Request, Model]
) -> Callable[[Fraction], _At | None]:
    """The best by the first aim at a value of the limit, the rest as given."""
    request, other = rest[0], rest[1].without_rules({rule.head.id})
    prices = price(Scope(request))
    kept: dict[Shape, Moving] = {}

    def moving(limit: Fraction) -> Moving:
        """The model at that limit: the one of the last limit where the rows have the same variables."""
        moved = replace(rule, **{side: limit})  # type: ignore[arg-type]
        fresh, own = rows_alone(moved, request, ground.at)
        shape = tuple((row.name, tuple(name for name, _ in row.coef)) for row in own)
        if shape not in kept:
            kept[shape] = Moving(_with(other, fresh, own))
        for row in own:
            kept[shape].rewrite(row)
        return kept[shape]

    def value(limit: Fraction) -> _At | None:
        if limit < 0:
            return None
        answer = moving(limit).solve(ground.limits)
        if answer.outcome is not Outcome.OPTIMAL or answer.objective is None:
            return None
        money = sum(float(by) / 100 * answer.values.get(name, 0.0) for name, by in prices.items())
        return _At(answer.objective + float(ground.aim.constant), money)

    return value


def _with(model: Model, variables: list[Var], rows: list[Row]) -> Model:
    known = {var.name for var in model.vars}
    fresh = tuple(var for var in variables if var.name not in known)
    return replace(model, vars=(*model.vars, *fresh)).with_rows(rows)


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


def _rest(ground: Ground, whole: bool) -> tuple[Request, Model]:
    """All musts with the first aim; with the ingredients of the proposal, all of them, or (`whole`) any."""
    request = ground.request if whole else _as_it_is(ground)
    wishes = {one.head.id for one in request.rules if one.head.rank is not None}
    aim = next(one for one in objectives(request) if one.name == ground.aim.name)
    model = build(request, without=wishes, incumbent=ground.at)
    model = aimed_at(replace(ground, aim=aim), model)
    if whole:
        return request, model
    return request, model.with_bounds({names.used(name): (ONE, ONE) for name in request.ingredients})


def _unit(request: Request, rule: Rule) -> str:
    return measure_of(rule, Tongue(request))[1] if isinstance(rule, Sided) else ""
