"""How far limits have to move: each one alone, and the cheapest mix of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from optimiser.certify.proof import Cases
from optimiser.explain.deciding import Judge, Least, least
from optimiser.explain.enumerate import Clash
from optimiser.explain.sides import Member, limit_of, moved, row_named, without
from optimiser.model.rows import Coefs, Model, Row, Var, linear, total

ONE = Fraction(1)


@dataclass(frozen=True, slots=True)
class Repair:
    """One limit alone: `enough` at the new limit `to`, `never` however far, or `unsettled`.

    Nothing nearer than `to` by `step` or more will do (0: nothing nearer at all).
    """

    member: Member
    limit: Fraction
    verdict: Literal["enough", "never", "unsettled"]
    to: Fraction | None = None
    step: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Move:
    """A limit moved; `share` is the miss as a part of the limit (of the row's largest coefficient at 0)."""

    member: Member
    limit: Fraction
    to: Fraction
    share: Fraction


@dataclass(frozen=True, slots=True)
class Mix:
    """The least sum of shares; no mix has a sum smaller by `step` or more (0: none at all).

    `noughts`: limits at 0 had to move as well; where it is False they all stayed.
    """

    total: Fraction
    step: Fraction
    moves: tuple[Move, ...]
    noughts: bool


def repairs(judge: Judge, clashes: Sequence[Clash]) -> tuple[Repair, ...]:
    """For each row side and each limit of a variable: how far it would have to move, alone.

    A limit outside one of the conflicts changes nothing, however far it goes.
    """
    found = []
    for member in judge.members:
        limit = limit_of(judge.model, member)
        if limit is None:
            continue
        if any(member not in clash.members for clash in clashes):
            found.append(Repair(member, limit, "never"))
        elif judge.late:
            found.append(Repair(member, limit, "unsettled"))
        else:
            found.append(_repair(judge, member, limit))
    return tuple(found)


def _repair(judge: Judge, member: Member, limit: Fraction) -> Repair:
    coef = _coef(judge.model, member)
    free = without(judge.model, [member]).with_cost(coef, "max" if member.side == "lower" else "min")
    found = least(free, judge.limits(), judge.caps.leaves)
    if isinstance(found, Cases):
        return Repair(member, limit, "never")
    if found is None or moved(judge.model, member, found.objective).violations(found.values):
        return Repair(member, limit, "unsettled")
    return Repair(member, limit, "enough", found.objective, found.step)


def _coef(model: Model, member: Member) -> Coefs:
    return row_named(model, member.name).coef if member.what == "row" else ((member.name, ONE),)


def cheapest_mix(judge: Judge) -> Mix | None:
    """The least sum of relative misses that makes the model possible; None where there is none or no proof.

    Limits at 0 have no relative miss: they stay, and move only where nothing else helps.
    """
    soft = [member for member in judge.members if member.what != "whole"]
    firm = [member for member in soft if limit_of(judge.model, member)]
    for chosen, noughts in ((firm, False), (soft, True)):
        if judge.late:
            return None
        found = least(elastic(judge.model, chosen), judge.limits(), judge.caps.leaves)
        if isinstance(found, Least):
            return _mix(judge.model, chosen, found, noughts)
        if found is None:
            return None
    return None


def weight(model: Model, member: Member) -> Fraction:
    """What one unit of a miss counts: one over the limit, or over the row's largest coefficient at 0."""
    limit = limit_of(model, member)
    size = abs(limit) if limit else max((abs(value) for _, value in _coef(model, member)), default=ONE)
    return 1 / (size or ONE)


def elastic(model: Model, soft: Sequence[Member]) -> Model:
    """The model in which these limits may be missed, at a cost in relative misses."""
    slacks = {member: f"miss {i}" for i, member in enumerate(soft)}
    taken = {var.name for var in model.vars}
    while taken & set(slacks.values()):
        slacks = {member: f"{name}_" for member, name in slacks.items()}
    return replace(
        without(model, soft),
        vars=(*without(model, soft).vars, *(Var(name) for name in slacks.values())),
        rows=(*without(model, soft).rows, *(_soft_row(model, m, name) for m, name in slacks.items())),
    ).with_cost({name: weight(model, member) for member, name in slacks.items()}, "min")


def _soft_row(model: Model, member: Member, slack: str) -> Row:
    limit = limit_of(model, member)
    sign = ONE if member.side == "lower" else -ONE
    coef = linear((*_coef(model, member), (slack, sign)))
    name = f"{slack} of {member.what} {member.name} {member.side}"
    return Row(name, coef, limit, None) if member.side == "lower" else Row(name, coef, None, limit)


def _mix(model: Model, soft: Sequence[Member], found: Least, noughts: bool) -> Mix | None:
    """The misses read off the answer itself, and the model with the limits moved tried on it."""
    moves, mended = [], model
    for member in soft:
        limit = limit_of(model, member)
        value = total(_coef(model, member), found.values)
        if limit is None or (value >= limit if member.side == "lower" else value <= limit):
            continue
        moves.append(Move(member, limit, value, abs(value - limit) * weight(model, member)))
        mended = moved(mended, member, value)
    if mended.violations(found.values):
        return None
    return Mix(sum((m.share for m in moves), start=Fraction(0)), found.step, tuple(moves), noughts)
