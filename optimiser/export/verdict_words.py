"""Verdicts in words, the same on the terminal and on the page."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import Clash, Legal, Needs, UseRange
from optimiser.export.figures import short
from optimiser.requests.sentences import cut, number, raised

PLACES = range(6, 16)
"""Decimals tried until a limit and what misses it are told apart."""


def told(verdict: Verdict) -> str:
    """The rule's sentence; with more digits where a broken rule would look kept in those shown."""
    text = verdict.rule.head.sentence + (f" ({verdict.note})" if verdict.note else "")
    value, low, high = verdict.value, verdict.low, verdict.high
    if verdict.met or value is None:
        return text
    limit, shown = (low, cut(low)) if low is not None and value < low else (high, raised(high))
    if limit is None or shown is None:
        return text
    reckoned = number(shown) in text and number(limit) not in text
    hidden = reckoned and min(limit, shown) <= value <= max(limit, shown)
    alike = short(value) == short(limit)
    return f"{text} ({_closely(limit, value, verdict.unit)})" if hidden or alike else text


def _closely(limit: Fraction, value: Fraction, unit: str) -> str:
    """`that is 22.3575 %`, and what it has where both look alike."""
    places = next((n for n in PLACES if short(limit, n) != short(value, n)), PLACES[-1])
    tail = f" {unit}" if unit else ""
    has = f"; it has {short(value, places)}{tail}" if short(value) == short(limit) else ""
    return f"that is {short(limit, places)}{tail}{has}"


def is_target(verdict: Verdict) -> bool:
    idle = verdict.rule.head.id.startswith("carrier#") and not verdict.value
    return not isinstance(verdict.rule, Clash | Needs | Legal | UseRange) and not idle


def counted(holding: list[Verdict]) -> list[str]:
    ranges = sum(isinstance(v.rule, UseRange) for v in holding)
    clashes = sum(isinstance(v.rule, Clash) for v in holding)
    idle = sum(isinstance(v.rule, Legal) and not v.value for v in holding)
    lines = [
        (ranges, "lines stand inside their supplier's range"),
        (clashes, "kinds of clash were looked for, none found"),
    ]
    lines.append((idle, "legal limits concern substances that are not in it"))
    return [f"{count} {text}." for count, text in lines if count]


def count_broken(failing: list[Verdict]) -> str:
    if not failing:
        return "every rule holds."
    return f"{len(failing)} rule{'' if len(failing) == 1 else 's'} not met."


def wanted(verdict: Verdict) -> str:
    low, high = verdict.low, verdict.high
    if low is not None and high is not None:
        return short(low) if low == high else f"{short(low)} to {short(high)}"
    if low is not None:
        return f"at least {short(low)}"
    return f"at most {short(high)}" if high is not None else ""
