"""Limits moved by hand: which may be, and the request under them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.moved import LINE, Moved
from optimiser.domain.outcome import Concession
from optimiser.domain.request import Request
from optimiser.domain.rules import Absent, Acidity, Amount, Cost, Head, LineCount, Newcomers, Rule, Stock
from optimiser.domain.selector import AnyOf, Pick, matches
from optimiser.errors import UsageError
from optimiser.explain.giving import changed, may_give, sides_of, with_ceilings, without_ceilings
from optimiser.explain.names import label
from optimiser.export.answer_rules import rule_dict
from optimiser.requests.sentences import number, span

BY_HAND = "moved by hand"
HUNDRED = Fraction(100)


def movable(rule: Rule) -> bool:
    """Whether its limits may be moved by number: never those of law, physics and safety."""
    if isinstance(rule, Absent | Stock):
        return False
    return bool(sides_of(rule)) and (may_give(rule) or rule.head.rank is not None)


def past_each_other(low: str, high: str) -> tuple[str, str]:
    """Which two numbers of a limit contradict, and both ways to mend it."""
    ways = f"lower “at least” from {low} to {high} or below, or raise “at most” from {high} to {low} or above"
    return f"at least {low} is above at most {high}", ways


def moved_request(request: Request, moved: tuple[Moved, ...]) -> Request:
    """The request with these limits instead of its own, and what hangs on them moved along.

    Raises UsageError for a rule that is not there or may not be moved, and for limits that
    exclude each other.
    """
    found = with_ceilings(request)
    for one in moved:
        if one.low is not None and one.high is not None and one.low > one.high:
            raise UsageError(*past_each_other(number(one.low), number(one.high)))
        if one.rule.startswith(LINE):
            found = _held(found, one)
            continue
        old = next((rule for rule in found.rules if rule.head.id == one.rule), None)
        if old is None:
            raise UsageError(f'no rule is called "{one.rule}" any more', "take this limit back")
        found = changed(found, old, _moved(old, one, found))
    return without_ceilings(found)


def moves_of(concession: Concession) -> tuple[Moved, ...]:
    """What a concession comes to, to be said in the next request; none where it moves no rule."""
    old, new = concession.rule, concession.new
    if concession.together:
        return tuple(Moved(rule.head.id, *limits_of(rule)) for rule in concession.together)
    if new is None:
        return () if concession.outside else (Moved(old.head.id, gone=True),)
    if isinstance(new, Absent | Stock):
        return (Moved(old.head.id, but_for=concession.back),)
    return (Moved(old.head.id, *limits_of(new)),)


def limits_of(rule: Rule) -> tuple[Fraction | None, Fraction | None]:
    """Least and most of a rule that has them."""
    if isinstance(rule, Newcomers | LineCount):
        return None, Fraction(rule.at_most)
    return getattr(rule, "low", None), getattr(rule, "high", None)


def _held(request: Request, one: Moved) -> Request:
    name = one.rule.removeprefix(LINE)
    ingredient = request.ingredients.get(name)
    if ingredient is None:
        raise UsageError(f"{name} is not considered here, so no limit on it can be kept", "take it back")
    text = f"{ingredient.name}: {span(one.low, one.high)} ({BY_HAND})."
    rule = Amount(Head(f"asked#{one.rule}", text, "asked"), name, one.low, one.high)
    return replace(request, rules=tuple(sorted((*request.rules, rule), key=lambda r: r.head.id)))


def _moved(old: Rule, one: Moved, request: Request) -> Rule | None:
    if one.but_for:
        return _but_for(old, one.but_for, request.ingredients)
    if not movable(old) and not (one.gone and _may_go(old)):
        raise UsageError(f"this is not for moving: {old.head.sentence}", "take this limit back")
    if one.gone:
        return None
    return _with_limits(old, one, request.currency)


def _may_go(rule: Rule) -> bool:
    return may_give(rule) or rule.head.rank is not None


def _with_limits(old: Rule, one: Moved, currency: str) -> Rule:
    fields: dict[str, Any] = {"low": one.low, "high": one.high}
    if isinstance(old, Newcomers | LineCount):
        if one.high is None:
            raise UsageError("a count needs a number", "write how many there may be at most")
        fields = {"at_most": math.floor(one.high)}
    elif isinstance(old, Cost):
        fields = {"high": one.high}
    elif not hasattr(old, "low"):
        raise UsageError(f"this has no limit to move: {old.head.sentence}", "take it back")
    if (isinstance(old, Cost) and one.high is None) or (
        isinstance(old, Acidity) and None in (one.low, one.high)
    ):
        raise UsageError(f"{label(old)} needs its number", "write it again")
    new = replace(old, **fields)
    unit = next((q["unit"] for key in ("low", "high") if (q := rule_dict(old, currency)[key])), "")
    text = f"{label(old)}: {span(*limits_of(new), unit)} ({BY_HAND})."
    return replace(new, head=replace(new.head, sentence=text, source="asked"))


def _but_for(old: Rule, names: tuple[str, ...], ingredients: Mapping[str, Ingredient]) -> Rule:
    told = " and ".join(ingredients[name].name if name in ingredients else name for name in names)
    if not may_give(old):
        raise UsageError(f"this is not for moving: {old.head.sentence}", "take it back")
    if isinstance(old, Stock):
        head = replace(old.head, sentence=f"{old.head.sentence.rstrip('.')}, and {told} is bought.")
        return replace(old, head=head, most={**old.most, **dict.fromkeys(names, HUNDRED)})
    if isinstance(old, Absent):
        still = [n for n, i in ingredients.items() if matches(old.of, i) is not False and n not in names]
        head = replace(old.head, sentence=f"{old.head.sentence.rstrip('.')}, but {told} is allowed again.")
        return replace(old, head=head, of=AnyOf(tuple(Pick("ingredient", n) for n in sorted(still))))
    raise UsageError(f"this names no ingredients: {old.head.sentence}", "take it back")
