"""How far a price of a limit holds: the straight piece of the best value as one limit moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Literal

from optimiser.certify.proof import Optimum
from optimiser.certify.simplex import solve_exactly
from optimiser.explain.sides import Member, limit_of, moved, row_named, without
from optimiser.model.rows import Model, Sense

Value = Callable[[Fraction], Fraction | None]
End = Literal["bend", "jump", "no answer", ""]
HALVINGS = 40
ZERO, ONE, TWO, EIGHT = Fraction(0), Fraction(1), Fraction(2), Fraction(8)


@dataclass(frozen=True, slots=True)
class Piece:
    """`slope`: change of the best value per unit of the limit, from where it stands to `until`.

    `ends` says what comes there: another slope, a jump (other whole numbers are better), no answer any more;
    then `until` is right to the grain. None and empty: still straight at the farthest limit that was tried.
    """

    slope: Fraction
    until: Fraction | None
    ends: End


@dataclass(frozen=True, slots=True)
class Fine:
    """`same`: two values this near are one (0: values are exact). `grain`: to this ends are narrowed down.

    `convex`: the value cannot jump; then a bend that two lines point at is the first one.
    """

    same: Fraction
    grain: Fraction
    convex: bool = True


@dataclass(frozen=True, slots=True)
class _Line:
    start: Fraction
    here: Fraction
    slope: Fraction

    def at(self, limit: Fraction) -> Fraction:
        return self.here + self.slope * (limit - self.start)


def piece(value: Value, start: Fraction, step: Fraction, far: Fraction, fine: Fine) -> Piece | None:
    """The straight piece that begins at `start` and runs towards `far`; None: no answer a grain further.

    `step` is signed and begins the search. The best value of a linear model bends one way only: where the
    last line meets the first is the bend, or nearer to it. What jumps is narrowed down by halving.
    """
    here = value(start)
    found = None if here is None else _first(value, start, here, step, fine)
    if here is None or found is None:
        return None
    slope, good = found
    line = _Line(start, here, slope)

    def on_line(at: Fraction) -> bool:
        there = value(at)
        return there is not None and abs(there - line.at(at)) <= fine.same

    if on_line(far):
        return Piece(slope, None, "")
    bad = far
    for _ in range(HALVINGS):
        if abs(bad - good) <= fine.grain:
            break
        inner = bad + (good - bad) / EIGHT
        if on_line(inner):
            good = inner
            continue
        met = _met(value, line, (inner, bad), good, fine)
        at = (good + bad) / TWO if met is None else met
        if not on_line(at):
            bad = at
        elif met is not None and (fine.convex or on_line((good + met) / TWO)):
            return Piece(slope, met, "bend")
        else:
            good = at
    return Piece(slope, good, "no answer" if value(bad) is None else "jump")


def _first(
    value: Value, start: Fraction, here: Fraction, step: Fraction, fine: Fine
) -> tuple[Fraction, Fraction] | None:
    """The first slope, and how far it was seen to hold: the step is halved until it is straight."""
    for _ in range(HALVINGS):
        end, middle = value(start + step), value(start + step / TWO)
        if end is not None and middle is not None and abs(end + here - TWO * middle) <= TWO * fine.same:
            return (end - here) / step, start + step
        if abs(step) <= fine.grain:
            return None
        step /= TWO
    return None


def _met(
    value: Value, line: _Line, seen: tuple[Fraction, Fraction], good: Fraction, fine: Fine
) -> Fraction | None:
    """Where the line through two values past the bend meets the first one, from `good` on."""
    inner, bad = seen
    near, there = value(inner), value(bad)
    if near is None or there is None:
        return None
    by = inner - bad
    slope = (near - there) / by
    if abs((slope - line.slope) * by) <= fine.same:
        return None
    met = bad + (line.at(bad) - there) / (slope - line.slope)
    if abs(met - good) <= fine.grain:
        return good
    return met if min(good, inner) < met < max(good, inner) else None


def piece_of(model: Model, member: Member, step: Fraction, far: Fraction) -> Piece | None:
    """The same for one limit of a linear model, in exact fractions; ends past the last answer are there."""
    limit = limit_of(model, member)
    if limit is None:
        return None

    def value(at: Fraction) -> Fraction | None:
        found = solve_exactly(moved(model, member, at))
        return found.objective if isinstance(found, Optimum) else None

    reach = _reach(model, member, far)
    if reach == limit:
        return None
    by = step if abs(step) < abs(reach - limit) else reach - limit
    found = piece(cache(value), limit, by, reach, Fine(ZERO, ZERO))
    if found is not None and found.until is None and reach != far:
        return Piece(found.slope, reach, "no answer")
    return found


def _reach(model: Model, member: Member, far: Fraction) -> Fraction:
    """The limit nearest to `far` at which the model has an answer."""
    free = moved(model, member, far)
    if isinstance(solve_exactly(free), Optimum):
        return far
    coef = ((member.name, ONE),) if member.what == "bound" else row_named(model, member.name).coef
    sense: Sense = "max" if member.side == "lower" else "min"
    found = solve_exactly(without(model, (member,)).with_cost(coef, sense))
    return found.objective if isinstance(found, Optimum) else far
