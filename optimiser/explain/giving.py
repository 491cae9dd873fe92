"""What giving way means for each kind of rule: its sides, how a limit moves, and what moves along with it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

from optimiser.domain.request import Request
from optimiser.domain.rules import (
    Acidity,
    Cost,
    Covers,
    Head,
    Legal,
    LineCount,
    Needs,
    Newcomers,
    Reaches,
    Rule,
    Share,
)
from optimiser.domain.selector import Pick
from optimiser.lp.aims import step_of
from optimiser.lp.build import CEILING
from optimiser.requests.sentences import number

Which = Literal["low", "high", "at_least", "at_most", "maximum"]
NEVER = ("law", "physics", "safety")
ZERO, ONE = Fraction(0), Fraction(1)
HUNDRED = Fraction(100)
MOST_PH = Fraction(14)
FARTHEST = Fraction(1024)
STEPS_OF_ONE_MORE, STEPS_OF_ALLOWING, STEPS_OF_GIVING_UP = Fraction(10), Fraction(50), Fraction(100)


@dataclass(frozen=True, slots=True)
class Side:
    """One limit of a rule: the field that holds it, what is asked, and as far as it could ever give way."""

    which: Which
    asked: Fraction
    far: Fraction

    @property
    def floor(self) -> bool:
        """Whether it is a least, which gives way downwards."""
        return self.which in ("low", "at_least")


def may_give(rule: Rule) -> bool:
    """Whether a rule may be haggled over: never law, physics and safety.

    A pH window that a preservative hangs on may be widened all the same: what the preservative covers is
    reckoned anew at the new top, and stays a must.
    """
    if rule.head.rank is not None or rule.head.basis in ("law", "physics"):
        return False
    return isinstance(rule, Acidity) or rule.head.basis not in NEVER


def sides_of(rule: Rule) -> tuple[Side, ...]:
    """The limits that can move. Any rule with a `low` or a `high` has its sides by that alone."""
    if isinstance(rule, Needs):
        return (Side("at_least", rule.at_least, ZERO),) if rule.at_least else ()
    if isinstance(rule, Newcomers | LineCount):
        return (Side("at_most", Fraction(rule.at_most), FARTHEST),)
    if isinstance(rule, Legal):
        return (Side("maximum", rule.maximum, HUNDRED),)
    low, high = getattr(rule, "low", None), getattr(rule, "high", None)
    found = []
    if low is not None and low != _least(low):
        found.append(Side("low", low, _least(low)))
    if high is not None:
        most = MOST_PH if isinstance(rule, Acidity) else max(abs(high) * FARTHEST, FARTHEST)
        found += [Side("high", high, most)] if high < most else []
    return tuple(found)


def _least(low: Fraction) -> Fraction:
    return ZERO if low >= 0 else low * FARTHEST


def moved(rule: Rule, side: Side, to: Fraction) -> Rule:
    """The rule with this limit at another number; its sentence is made by `words`."""
    there: dict[str, Any] = {side.which: math.ceil(to) if isinstance(rule, Newcomers | LineCount) else to}
    return replace(rule, **there)


def unit_step(value: Fraction) -> Fraction:
    """Step of a shown limit: two decimals from 1 up, four below."""
    return Fraction(1, 100) if abs(value) >= 1 else Fraction(1, 10000)


def outward(value: Fraction, side: Side) -> Fraction:
    """The value in whole shown steps, on the side that gives way; noise of the solver rounds nothing."""
    if side.which == "at_most":
        return Fraction(math.ceil(value - Fraction(1, 10**6)))
    unit = unit_step(value)
    nudge = Fraction(1, 10**4) * unit
    steps = math.floor((value + nudge) / unit) if side.floor else math.ceil((value - nudge) / unit)
    if side.floor:
        return max(steps * unit, side.far)
    return min(steps * unit, side.far)


def beyond(value: Fraction, side: Side, times: int) -> Fraction:
    """The limit eased by some more of its shown steps: 1, 3, 7 …"""
    by: Fraction = (ONE if side.which == "at_most" else unit_step(value)) * (2**times - 1)
    return max(value - by, side.far) if side.floor else min(value + by, side.far)


def steps_between(rule: Rule, side: Side, to: Fraction) -> Fraction:
    """How much is given, in steps: 1 % of the limit is one, another ingredient ten."""
    if side.which == "at_most":
        return STEPS_OF_ONE_MORE * (to - side.asked)
    own = side.asked / 100 if isinstance(rule, Cost | Needs) and side.asked else step_of(rule)
    steps: Fraction = abs(to - side.asked) / own
    return steps


def changed(request: Request, old: Rule, new: Rule | None) -> Request:
    """The request with one rule moved, or given up (None), and with what hangs on it moved along.

    Where the pH window moves, the groups that have to be covered are to be covered at its new top; where a
    ceiling moves, the dosed line counts at the new one.
    """
    rules = tuple(
        r if r.head.id != old.head.id else new
        for r in request.rules
        if r.head.id != old.head.id or new is not None
    )
    found = replace(request, rules=tuple(r for r in rules if r is not None))
    if isinstance(old, Acidity) and isinstance(new, Acidity) and old.head.rank is None:
        return _with_window(found, old, new)
    if is_ceiling(old) and isinstance(new, Share) and new.high is not None:
        return _with_ceiling(found, new, new.high)
    return found


def _with_window(request: Request, old: Acidity, new: Acidity) -> Request:
    def follow(rule: Rule) -> Rule:
        if not isinstance(rule, Covers | Reaches) or rule.ph_top != old.high:
            return rule
        said = rule.head.sentence.replace(f"pH {_top(old)}", f"pH {_top(new)}")
        said = said.replace(f"up to {_top(old)}", f"up to {_top(new)}")
        return replace(rule, ph_top=new.high, head=replace(rule.head, sentence=said))

    own = request.ph_window == (old.low, old.high)
    return replace(
        request,
        rules=tuple(follow(rule) for rule in request.rules) if new.high != old.high else request.rules,
        ph_window=(new.low, new.high) if own else request.ph_window,
    )


def _top(rule: Acidity) -> str:
    return number(rule.high)


def _with_ceiling(request: Request, rule: Share, ceiling: Fraction) -> Request:
    fixed = {slot: ceiling if _slot_of(rule, str(slot)) else most for slot, most in request.fixed.items()}
    return replace(request, fixed=fixed)


def _slot_of(rule: Rule, slot: str) -> bool:
    return rule.head.id == f"{CEILING}{slot}"


def is_ceiling(rule: Rule) -> bool:
    """Whether it is the ceiling of a line that is dosed to a reading."""
    return rule.head.id.startswith(CEILING)


def with_ceilings(request: Request) -> Request:
    """The request with the ceilings of its dosed lines as rules that can be named and loosened."""
    named: list[Rule] = []
    for slot, most in sorted(request.fixed.items()):
        if slot not in request.slots or slot not in request.dosed:
            continue
        name, to = request.ingredients[slot.ingredient].name, request.dosed[slot].to
        text = f"{name}, dosed to {to}: at most {number(most)} %."
        head = Head(f"{CEILING}{slot}", text, f"formulas/{request.formula.id}")
        named.append(Share(head, Pick("ingredient", slot.ingredient), None, most, slot.phase))
    return replace(request, rules=(*request.rules, *named))


def without_ceilings(request: Request) -> Request:
    """The request as the search wants it: dosed lines stand at their ceilings."""
    return replace(request, rules=tuple(rule for rule in request.rules if not is_ceiling(rule)))
