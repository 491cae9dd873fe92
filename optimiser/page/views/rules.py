"""Rules with their state and margin, each with a thin bar of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.outcome import Proposal, Verdict
from optimiser.domain.rules import Legal, Level, Mean, Rule, Share
from optimiser.export.verdict_words import counted, is_target, told
from optimiser.page.views.figures import Bar, Figures, bar_of
from optimiser.requests.carried import name_of

Spread = tuple[Fraction, Fraction]
SHOWN = Fraction(1, 1000)
"""The least margin that is written out."""


@dataclass(frozen=True, slots=True)
class RuleRow:
    """`asked` and `margin` bring their unit; `state` is "holds", "does not hold" or "a wish, not met"."""

    id: str
    sentence: str
    source: str
    why: str
    has: str
    asked: str
    margin: str
    state: str
    met: bool
    bar: Bar | None


@dataclass(frozen=True, slots=True)
class RuleTable:
    """Broken rules first, then targets, then limits of the law that concern it; `counted` tells the rest."""

    broken: tuple[RuleRow, ...]
    targets: tuple[RuleRow, ...]
    legal: tuple[RuleRow, ...]
    counted: tuple[str, ...]


def rule_table(proposal: Proposal, figures: Figures) -> RuleTable:
    spreads = _spreads(proposal)
    verdicts = proposal.verdicts
    holding = [one for one in verdicts if one.met]
    return RuleTable(
        tuple(rule_row(one, spreads, figures) for one in verdicts if not one.met),
        tuple(rule_row(one, spreads, figures) for one in holding if is_target(one)),
        tuple(rule_row(o, spreads, figures) for o in holding if isinstance(o.rule, Legal) and o.value),
        tuple(counted(holding)),
    )


def rule_row(verdict: Verdict, spreads: Mapping[str, Spread], figures: Figures) -> RuleRow:
    head = verdict.rule.head
    state = "holds" if verdict.met else "does not hold" if head.rank is None else "a wish, not met"
    margin = ""
    if verdict.margin is not None:
        margin = _margin(verdict, verdict.margin, figures)
    return RuleRow(
        head.id,
        told(verdict),
        head.source,
        head.why,
        _unit(figures.short(verdict.value), verdict.unit) if verdict.value is not None else "",
        asked_of(verdict.low, verdict.high, verdict.unit, figures),
        margin,
        state,
        verdict.met,
        bar_of(verdict.low, verdict.high, verdict.value, _spread_of(verdict.rule, spreads)),
    )


def _margin(verdict: Verdict, margin: Fraction, figures: Figures) -> str:
    if not margin:
        return "exactly" if verdict.low == verdict.high else "nothing to spare"
    word = "to spare" if margin > 0 else "missing"
    text = figures.short(max(abs(margin), SHOWN))
    less = "less than " if abs(margin) < SHOWN else ""
    return f"{less}{_unit(text, verdict.unit)} {word}"


def asked_of(low: Fraction | None, high: Fraction | None, unit: str, figures: Figures) -> str:
    """`6.3 to 7.7 %`, `at least 6.3 %`, `at most 7.7 %`, or nothing."""
    if low is not None and high is not None:
        both = figures.short(low) if low == high else f"{figures.short(low)} to {figures.short(high)}"
        return _unit(both, unit)
    if low is not None:
        return _unit(f"at least {figures.short(low)}", unit)
    return _unit(f"at most {figures.short(high)}", unit) if high is not None else ""


def _unit(text: str, unit: str) -> str:
    return f"{text}\u00a0{unit}" if unit else text


def _spreads(proposal: Proposal) -> dict[str, Spread]:
    return {
        one.name: (one.low, one.high)
        for one in proposal.measures
        if one.low is not None and one.high is not None and one.low != one.high
    }


def _spread_of(rule: Rule, spreads: Mapping[str, Spread]) -> Spread | None:
    return spreads.get(name_of(rule)) if isinstance(rule, Share | Level | Mean) else None
