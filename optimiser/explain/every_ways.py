"""How far the sides of a way out have to move together, and a formula that the judge passes then."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from optimiser.domain.lists import RuleSide, WayOut
from optimiser.domain.request import Request
from optimiser.explain.giving import Side, beyond, changed, moved, outward, sides_of, without_ceilings
from optimiser.explain.quick import Made, quick_formula
from optimiser.explain.rest import STRAIGHT, WHERE, Rest
from optimiser.explain.words import Tongue, reworded, side_words
from optimiser.solver.interface import Outcome

EASINGS = 3
ONE = Fraction(1)


def way_out(rest: Rest, members: Sequence[RuleSide], certified: bool) -> WayOut:
    """The least that the sides give, in parts of their limits; without a formula where none was found."""
    tongue = Tongue(rest.request)
    straight = [(m, side) for m in members if (side := _side_of(m)) is not None]
    given = rest.request
    for member in members:
        if member not in [m for m, _ in straight]:
            given = changed(given, member.rule, None)
    limits = _least(rest, given, straight)
    if limits is None:
        return WayOut(tuple(members), certified)
    whole = [f"Give up: {m.rule.head.sentence}" for m in members if m not in [one for one, _ in straight]]
    for tried in _tries(rest, given, straight, limits):
        request, words = _moved(given, straight, tried, tongue)
        made = quick_formula(without_ceilings(request), rest.limits)
        if made is not None:
            return _told(members, certified, (*words, *whole), made)
    _, words = _moved(given, straight, limits, tongue)
    return WayOut(tuple(members), certified, (*words, *whole))


def _tries(
    rest: Rest, given: Request, straight: Sequence[tuple[RuleSide, Side]], limits: list[Fraction]
) -> Iterator[list[Fraction]]:
    """The limits, then those that the search's own rows ask for, each eased a little more."""
    strict = _least(rest.strict, given, straight)
    for there in (limits, *([strict] if strict not in (None, limits) else [])):
        for easing in range(EASINGS):
            yield [_eased(to, side, easing) for to, (_, side) in zip(there or (), straight, strict=True)]


def _eased(to: Fraction, side: Side, easing: int) -> Fraction:
    return beyond(to, side, easing) if easing else to


def _told(members: Sequence[RuleSide], certified: bool, words: Sequence[str], made: Made) -> WayOut:
    return WayOut(tuple(members), certified, tuple(words), made.lines, made.cost_per_kg)


def _side_of(member: RuleSide) -> Side | None:
    """The limit of a side where one solve tells how far it must move; None where it has to go altogether."""
    if not isinstance(member.rule, STRAIGHT):
        return None
    return next((s for s in sides_of(member.rule) if s.floor == (member.side == "low")), None)


def _least(rest: Rest, given: Request, straight: Sequence[tuple[RuleSide, Side]]) -> list[Fraction] | None:
    """The new limits, in shown steps; None where the solver finds none."""
    ids = tuple(dict.fromkeys(member.rule.head.id for member, _ in straight))
    model = rest.with_changed(given, ids)
    slack = {f"w:{m.rule.head.id}:{WHERE[side.which]}": side for m, side in straight}
    loose = {var.name for var in model.vars if var.name.startswith(tuple(f"w:{i}:" for i in ids))}
    shut = {name: (Fraction(0), Fraction(0)) for name in loose - set(slack)}
    if set(slack) - loose:
        return None
    cost = {name: ONE / (abs(side.asked) or ONE) for name, side in slack.items()}
    answer = rest.solved(model.with_bounds(shut).with_cost(cost, "min"))
    if answer.outcome is not Outcome.OPTIMAL:
        return None
    found = []
    for name, side in slack.items():
        by = Fraction(repr(max(answer.values[name], 0.0)))
        found.append(outward(side.asked - by if side.floor else side.asked + by, side))
    return found


def _moved(
    given: Request, straight: Sequence[tuple[RuleSide, Side]], limits: Sequence[Fraction], tongue: Tongue
) -> tuple[Request, tuple[str, ...]]:
    """The request with the sides at these limits, and each in words beside what was asked."""
    words = []
    now = {member.rule.head.id: member.rule for member, _ in straight}
    for (member, side), to in zip(straight, limits, strict=True):
        old = now[member.rule.head.id]
        text = side_words(old, side, to, tongue)
        new = reworded(moved(old, side, to), text)
        given = changed(given, old, new)
        now[old.head.id] = new
        was = member.words.rstrip(".")
        words.append(f"{was}: {'none need be asked' if side.floor and not to else f'{text} would do'}.")
    return given, tuple(words)
