"""Solves again at the last answer where rows are right at one answer only."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from optimiser.checks.acidity import strength_of
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Acidity, Response, Thickness
from optimiser.lp import names
from optimiser.lp.response import off_by
from optimiser.science.body import factors_of
from optimiser.search.grid import on_grid
from optimiser.search.stages import NoAnswer, Optimum, bent, optimise
from optimiser.solver.interface import Limits

FIRST_STRENGTH = Fraction(1, 10)
REWRITES = 5
NEAR = Fraction(1, 1000)
"""Factors this near to those the rows were written with are the same."""
Tell = Callable[[str], None]
Found = tuple[Optimum | NoAnswer, dict[Slot, Fraction] | None]


def settled(request: Request, first: Optimum | NoAnswer, limits: Limits, tell: Tell) -> Found:
    """The first answer at which the rows are right and that the judge accepts on the grid."""
    last: Optimum | NoAnswer = first
    written, at = _start(request, first, limits)
    if at is None:
        return first, None
    bends = any(bent(rule) for rule in request.rules)
    for _ in range(REWRITES):
        if isinstance(last, Optimum) and (not bends or same(request, written, at)):
            tell("rounding it to steps that can be weighed, and checking every rule")
            shares = on_grid(request, last, limits)
            if shares is not None:
                return last, shares
        tell("reckoning what is foretold anew for this formula")
        again = optimise(request, limits, at)
        written = at
        if isinstance(again, Optimum):
            last, at = again, answer_of(request, again, at.ionic)
        elif at.ionic is None and again.infeasible and _acid(request):
            at = replace(at, ionic=FIRST_STRENGTH)
        else:
            break
    if isinstance(last, Optimum):
        return last, on_grid(request, last, limits)
    return first, None


def near_base(request: Request, limits: Limits, tell: Tell) -> tuple[Optimum, dict[Slot, Fraction]] | None:
    """The first answer, its rows written at the base or at the last answer, the judge accepts.

    Rows that bend have to be written where the answer is before it counts; where those at the base leave
    nothing, an answer without them shows where to write the next.
    """
    bends = any(bent(rule) for rule in request.rules)
    at = at_base(request)
    strength = at.ionic
    for _ in range(REWRITES):
        answer = optimise(request, limits, at)
        straight = isinstance(answer, NoAnswer) and bends and at.ionic == strength
        if straight:
            answer = optimise(_straight(request), limits, at)
        if isinstance(answer, NoAnswer):
            return None
        now = answer_of(request, answer, at.ionic)
        if not bends or (not straight and same_body(request, at, now)):
            tell("rounding it to steps that can be weighed, and checking every rule")
            shares = on_grid(request, answer, limits, quick=True)
            if shares is not None:
                return answer, shares
        at = now
    return None


def at_base(request: Request) -> Incumbent:
    """Where rows of a prediction are written first: at the base and its own ionic strength."""
    strength = strength_of(request, {slot: float(share) for slot, share in request.base.items()})
    bends = any(bent(rule) for rule in request.rules)
    return replace(_own(request), ionic=strength) if bends else Incumbent({}, strength)


def _straight(request: Request) -> Request:
    return replace(request, rules=tuple(rule for rule in request.rules if not bent(rule)))


def _own(request: Request) -> Incumbent:
    """What the base has of the ingredients that may be there."""
    base: dict[str, Fraction] = {}
    for slot, share in request.base.items():
        base[slot.ingredient] = base.get(slot.ingredient, Fraction(0)) + share
    return Incumbent({name: share for name, share in base.items() if name in request.ingredients})


def _start(
    request: Request, first: Optimum | NoAnswer, limits: Limits
) -> tuple[Incumbent | None, Incumbent | None]:
    """(where the first rows were written, where to write the next); the second None where nothing helps.

    Where the first rows leave nothing, an answer without the rules that bend shows where to write them.
    """
    own = _own(request)
    if isinstance(first, Optimum):
        return own, answer_of(request, first, None)
    if not first.infeasible:
        return None, None
    if not any(bent(rule) for rule in request.rules):
        return own, replace(own, ionic=FIRST_STRENGTH)
    free = optimise(_straight(request), limits)
    if isinstance(free, Optimum):
        return own, answer_of(request, free, None)
    return own, replace(own, ionic=FIRST_STRENGTH) if free.infeasible and _acid(request) else None


def _acid(request: Request) -> bool:
    return any(isinstance(rule, Acidity) and rule.predicted for rule in request.rules)


def answer_of(request: Request, answer: Optimum, ionic: Fraction | None) -> Incumbent:
    """The answer as the place to write rows at; its ionic strength where the pH is written at one."""
    shares = {slot: answer.values[names.share(slot)] for slot in request.slots}
    total: dict[str, Fraction] = {}
    for slot, share in shares.items():
        total[slot.ingredient] = total.get(slot.ingredient, Fraction(0)) + Fraction(str(round(share, 6)))
    there = {name: share for name, share in total.items() if share > 0}
    return Incumbent(there, None if ionic is None else strength_of(request, shares))


def same(request: Request, one: Incumbent | None, other: Incumbent) -> bool:
    """Whether rows written at both would be the same, as far as it matters."""
    if one is None or one.ionic != other.ionic:
        return False
    return not any(bent(rule) for rule in request.rules) or same_body(request, one, other)


def same_body(request: Request, one: Incumbent, other: Incumbent) -> bool:
    """Whether glycerol, powders and salt do the same at both, and responses too, as far as it matters.

    What the oils ask for is left to the judge.
    """
    if any(off_by(rule, one.shares, other.shares) > NEAR * _large(rule) for rule in _responses(request)):
        return False
    if not any(isinstance(rule, Thickness) and rule.predicted for rule in request.rules):
        return True
    a, b = (
        factors_of(at.shares, request.ingredients, request.substances, window=request.ph_window)
        for at in (one, other)
    )
    return abs(a.times - b.times) <= NEAR * a.times and abs(a.salt - b.salt) <= NEAR * max(a.salt, NEAR)


def _responses(request: Request) -> list[Response]:
    return [rule for rule in request.rules if isinstance(rule, Response) and rule.bends]


def _large(rule: Response) -> Fraction:
    """The size of a limit, at least one."""
    return max(Fraction(1), *(abs(limit) for limit in (rule.low, rule.high) if limit is not None))
