"""Why a proposal is as it is, in words: spans of a line, its worth, what a step of a limit costs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Protocol

from optimiser.domain.outcome import Proposals
from optimiser.domain.why import LimitCost, LineWhy, RunnerUp, Span, Why

HAIR = Fraction(1, 1000)
Signed = Callable[[Fraction, int], str]
Fixed = Callable[[Fraction, int], str]


class Short(Protocol):
    """A number with at most so many decimals."""

    def __call__(self, value: Fraction, places: int = 3, /) -> str: ...


def span_words(span: Span | None, short: Short) -> str:
    if span is None:
        return "not settled"
    least, most = span
    return short(least) if most - least <= HAIR else f"{short(least)} – {short(most)}"


def without_words(one: LineWhy, found: Why, short: Short, signed: Signed) -> str:
    """How far the best formula without the line falls behind, and what comes in its place."""
    if one.needed:
        return "no formula"
    if one.behind is None:
        return "not settled"
    unit = f" {found.unit}" if found.unit else ""
    words = f"+{short(max(one.behind, Fraction(0)), 2)}{unit}"
    if one.dearer is not None and abs(one.dearer) >= Fraction(1, 200) and found.aim != "cost":
        words += f", {signed(one.dearer, 2)} {found.outcome.request.currency}/kg"
    return words + (f"; then {', '.join(one.then)}" if one.then else "")


def steps_of(found: Why) -> tuple[Mapping[bool, LimitCost], ...]:
    """The costs of each limit's next step together: with the same ingredients (False) and with any (True)."""
    seen: dict[tuple[str, str, bool], dict[bool, LimitCost]] = {}
    for one in found.limits:
        seen.setdefault((one.rule, one.side, one.tighter), {})[one.whole] = one
    return tuple(seen.values())


def step_words(one: LimitCost, short: Short) -> str:
    """`+1 % (tighter)`."""
    up = (one.side == "low") == one.tighter
    unit = f" {one.unit}" if one.unit else ""
    return f"{'+' if up else '−'}{short(one.step, 4)}{unit} ({'tighter' if one.tighter else 'looser'})"


def cost_words(one: LimitCost | None, found: Why, short: Short, signed: Signed) -> str:
    if one is None:
        return ""
    if one.aim is None or one.money is None:
        return "no formula"
    unit = f" {found.unit}" if found.unit else f" {found.aim}"
    aim = "" if found.aim == "cost" else f"{signed(one.aim, 3) or '0'}{unit}, "
    money = f"{signed(one.money, 4) or '0'} {found.outcome.request.currency}/kg"
    return f"{aim}{money}{_until(one, short)}"


def _until(one: LimitCost, short: Short) -> str:
    if one.until is None:
        return ""
    if abs(one.until - one.limit) <= one.step:
        return ", this step only"
    return f", up to {short(one.until, 4)}{f' {one.unit}' if one.unit else ''}"


def comes_in(one: RunnerUp, short: Short, fixed: Fixed) -> tuple[str, str, str]:
    """The price at which a runner-up comes in, its share then, and what is left of the line."""
    if one.comes_in is None:
        return "not even for nothing", "", ""
    return fixed(one.comes_in, 2), short(one.share), short(one.line) if one.line else "–"


def stage_words(free: Proposals, forced: Proposals, short: Short, signed: Signed) -> tuple[str, ...]:
    """`Cost: 7.10 becomes 7.40 EUR/kg (+0.30).`, for each aim."""
    found = []
    for was, now in zip(free.proposals[0].stages, forced.proposals[0].stages, strict=False):
        more = signed(now.value - was.value, 2) if now.value != was.value else "no more"
        found.append(f"{was.name}: {short(was.value, 2)} becomes {short(now.value, 2)} {was.unit} ({more}).")
    return tuple(found)
