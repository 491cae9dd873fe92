"""Verdicts in words, the same on the terminal and on the page."""

from __future__ import annotations

from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import Clash, Legal, Needs, UseRange
from optimiser.export.figures import short
from optimiser.requests.sentences import cut, raised, reckoned

EXACT = 6


def told(verdict: Verdict) -> str:
    """The rule's sentence; with the exact limit where a broken rule would look kept in the digits shown."""
    text = verdict.rule.head.sentence + (f" ({verdict.note})" if verdict.note else "")
    value, low, high = verdict.value, verdict.low, verdict.high
    if verdict.met or value is None or reckoned(low, high, verdict.unit) not in text:
        return text
    for limit, shown in ((low, cut(low)), (high, raised(high))):
        if limit is not None and shown is not None and min(limit, shown) <= value <= max(limit, shown):
            return f"{text} (exactly {short(limit, EXACT)}{f' {verdict.unit}' if verdict.unit else ''})"
    return text


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
