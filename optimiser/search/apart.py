"""Alternatives that are far apart: as different from all before as the room behind the best allows.

Two formulas differ first by the ingredients that only one of them has, then by the points that stand in
these. The least difference from any earlier answer is made as large as it can be while every must holds, each
wish stays as well met as in the first answer and the first aim is within its room; then the aims follow.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.outcome import Apart, Proposal
from optimiser.domain.request import Request, Slot
from optimiser.lp import names
from optimiser.lp.aims import tie_break
from optimiser.lp.build import build
from optimiser.lp.scope import Coefs, Scope, merged, scaled
from optimiser.model.rows import Model, Row, Var
from optimiser.search.grid import on_grid
from optimiser.search.settling import REWRITES, answer_of, at_base, same_body
from optimiser.search.stages import Optimum, StageResult, bent, extended, held, predicted, settle_tie
from optimiser.search.telling import totals
from optimiser.solver.interface import Limits
from optimiser.solver.solving import solve

ZERO, ONE, HALF, HUNDRED = Fraction(0), Fraction(1), Fraction(1, 2), Fraction(100)
WISHES = "wishes of rank "
APART = "apart"
LEAST = "apart:least"
"""The variable that is the least difference from any earlier answer."""
POINTS = 1 / (HUNDRED + 1)
"""What a point counts beside an ingredient: all of them together less than one."""
SHOWN = Fraction(1, 1000)
SLACK = Fraction(1, 10**6)
NEAR = Fraction(1, 2)
"""The most points are found to this: then no time goes into the last of them. Counts are exact."""
STEP = Fraction(1, 20)
"""Points that putting on the grid may cost of the difference."""
ROOM: dict[str, Fraction] = {"departure": Fraction(10), "ingredients": ONE, "lines changed": ONE}
"""Room behind the best where nothing is said, in the aim's own unit: two new ingredients' worth, or one."""
PART = Fraction(1, 10)
"""The same for money, as a part of the best."""
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Within:
    """Room behind the best by the first aim: `part` of the best, or `by` in the aim's own unit.

    With neither, 10 % of money, 10 points of departure, one line or ingredient.
    """

    part: Fraction | None = None
    by: Fraction | None = None

    def room(self, aim: str, best: Fraction) -> Fraction:
        if self.by is not None:
            return self.by
        if self.part is None and aim in ROOM:
            return ROOM[aim]
        return abs(best) * (PART if self.part is None else self.part)


def apart_of(one: Proposal, other: Proposal) -> Apart:
    """How different two proposals are."""
    mine, theirs = (_totals(proposal) for proposal in (one, other))
    every = mine.keys() | theirs.keys()
    moved = sum((abs(mine.get(i, ZERO) - theirs.get(i, ZERO)) for i in every), ZERO)
    return Apart(len(mine.keys() ^ theirs.keys()), len(every), moved / 2)


def _totals(proposal: Proposal) -> dict[str, Fraction]:
    return totals({Slot(line.ingredient, line.phase): line.percent for line in proposal.lines})


@dataclass(frozen=True, slots=True)
class Start:
    """What every alternative starts from: the request, its first answer, and what that reached."""

    request: Request
    first: Optimum
    room: Fraction
    limits: Limits

    @classmethod
    def of(cls, request: Request, first: Optimum, within: Within, limits: Limits) -> Start:
        aim = next(one for one in first.stages if not one.name.startswith(WISHES))
        return cls(request, first, within.room(aim.name, Fraction(repr(aim.value))), limits)

    @property
    def aims(self) -> tuple[StageResult, ...]:
        return tuple(one for one in self.first.stages if not one.name.startswith(WISHES))

    def is_one(self, proposal: Proposal, earlier: Sequence[Proposal]) -> bool:
        """Whether it has other ingredients than each before, and the printed shares are within the room."""
        aim = self.aims[0]
        reached = next(stage.value for stage in proposal.stages if stage.name == aim.name)
        grid = SHOWN * max(ONE, abs(reached))
        return reached <= Fraction(repr(aim.value)) + self.room + grid and all(
            apart_of(proposal, one).ingredients for one in earlier
        )


def farthest(
    start: Start, earlier: Sequence[Proposal], tell: Tell
) -> tuple[Optimum, dict[Slot, Fraction]] | None:
    """The formula farthest from all earlier ones and its shares on the grid; None where no other set is left.

    Rows that are right at one answer only are written again at the last one; the judge decides.
    """
    request = start.request
    bends = any(bent(rule) for rule in request.rules)
    foretold = any(predicted(rule) for rule in request.rules)
    at = at_base(request) if foretold else None
    for _ in range(REWRITES):
        found = _farthest(start, earlier, at)
        if found is not None and at is None:
            return _printed(start, found, tell)
        if found is None or at is None:
            return None
        now = answer_of(request, found, at.ionic)
        if not bends or same_body(request, at, now):
            answer = _printed(start, found, tell)
            if answer is not None:
                return answer
        at = now
    return None


def _printed(start: Start, found: Optimum, tell: Tell) -> tuple[Optimum, dict[Slot, Fraction]] | None:
    tell("rounding it to steps that can be weighed, and checking every rule")
    shares = on_grid(start.request, found, start.limits)
    return None if shares is None else (found, shares)


def _farthest(start: Start, earlier: Sequence[Proposal], at: Incumbent | None) -> Optimum | None:
    request = start.request
    ground = _ground(start, at)
    rows = [_difference(request, proposal, number) for number, proposal in enumerate(earlier)]
    least = Var(LEAST, ONE, None, "C")
    model = replace(ground, vars=(*ground.vars, least)).with_rows(rows)
    limits = replace(start.limits, gap=float(NEAR * POINTS))
    answer = solve(model.with_cost({LEAST: -ONE}), limits=limits)
    if answer.objective is None:
        return None
    far = Fraction(repr(-answer.objective))
    whole = Fraction(int(far + SLACK))
    floor = max(whole, far - STEP * POINTS)
    return _by_aims(start, model.with_bounds({LEAST: (floor, None)}))


def _ground(start: Start, at: Incumbent | None) -> Model:
    """Every must, every wish as the first answer has it, and the first aim within its room of the best."""
    model = build(start.request, incumbent=at)
    for stage in start.aims:
        model = extended(model, stage.objective)
    known = {var.name for var in model.vars}
    wishes = [row for row in start.first.model.rows if row.name.startswith(f"aim:held:{WISHES}")]
    kept = [row for row in wishes if all(name in known for name, _ in row.coef)]
    aim = start.aims[0]
    binding = {row.name for row in aim.objective.rows}
    rows = tuple(replace(row, rule=APART) if row.name in binding else row for row in model.rows)
    most = Fraction(repr(aim.value)) + start.room + SLACK
    cost = tuple(sorted(aim.objective.cost.items()))
    within = Row(f"{APART}:within", cost, None, most, APART, aim.name)
    return replace(model, rows=rows).with_rows((*kept, within, *_gone(start.request)))


def _gone(request: Request) -> list[Row]:
    """What is not used has moved by all that the base has of it: true of every formula, and it helps."""
    found = []
    for name, slots in sorted(Scope(request).slots_of.items()):
        own = [slot for slot in slots if request.base.get(slot)]
        if own:
            base = sum((request.base[slot] for slot in own), ZERO)
            moved = {names.down(slot): ONE for slot in own}
            coefs = tuple(sorted((moved | {names.used(name): base}).items()))
            found.append(Row(f"{APART}:gone:{name}", coefs, base, None, APART, ""))
    return found


def _difference(request: Request, earlier: Proposal, number: int) -> Row:
    """The least difference is no more than that from this answer: ingredients in or out, and their points."""
    there = _totals(earlier)
    scope = Scope(request)
    parts: list[Coefs] = [{LEAST: -ONE}]
    constant = ZERO
    for name in sorted(scope.slots_of):
        if name in there:
            counts = ONE + there[name] * HALF * POINTS
            parts.append({names.used(name): -counts})
            constant += counts
        else:
            parts += [{names.used(name): ONE}, scaled(scope.total(name), HALF * POINTS)]
    coefs = tuple(sorted(merged(*parts).items()))
    return Row(f"{APART}:{number}", coefs, -constant, None, APART, "as far from an earlier answer")


def _by_aims(start: Start, model: Model) -> Optimum | None:
    """The first aim over what is far enough, then the others with the ingredients it settles on.

    The bound of the first aim is that of all formulas.
    """
    results: list[StageResult] = []
    answer = None
    for stage in start.aims:
        answer = solve(model.with_cost(stage.objective.cost), limits=start.limits)
        if answer.objective is None:
            return None
        first = not results
        bound = stage.bound if first or answer.bound is None else answer.bound
        results.append(replace(stage, value=answer.objective, bound=bound, optimal=first and stage.optimal))
        model = held(model, stage.objective, stage.objective.cost, answer.objective)
        if first:
            model = model.with_bounds({name: _same(answer.values[name]) for name in model.whole})
    if answer is None:
        return None
    fixed, settled = settle_tie(model, tie_break(start.request), answer.values, start.limits)
    wishes = tuple(one for one in start.first.stages if one not in start.aims)
    last = answer if settled.objective is None else settled
    return Optimum(fixed, last.values, (*wishes, *results))


def _same(value: float) -> tuple[Fraction, Fraction]:
    return Fraction(round(value)), Fraction(round(value))


def headed(proposal: Proposal, earlier: tuple[Proposal, ...], request: Request) -> Proposal:
    """The alternative headed by what it has that the first has not, with its least difference from any."""
    mine, others = (_totals(one).keys() for one in (proposal, earlier[0]))
    known = request.ingredients
    more = ", ".join(known[i].name for i in sorted(mine - others))
    less = ", ".join(known[i].name for i in sorted(others - mine))
    parts = [f"with {more}" if more else "", f"without {less}" if less else ""]
    heading = "Alternative " + " and ".join(part for part in parts if part)
    return replace(proposal, heading=heading, apart=tuple(apart_of(proposal, one) for one in earlier))
