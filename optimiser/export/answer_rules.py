"""Rules and verdicts as JSON values."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any, assert_never

from optimiser.checks.forecasts import UNITS
from optimiser.checks.measures import unit_of
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Remark
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Clash,
    Cost,
    Covers,
    Forecast,
    FreeLiquid,
    Head,
    Legal,
    Level,
    LineCount,
    Mean,
    Needs,
    Newcomers,
    Ratio,
    Reaches,
    Response,
    Rule,
    Share,
    Stock,
    Thickness,
    UseRange,
)
from optimiser.domain.selector import AnyOf, Selector
from optimiser.export.plain import quantity

Value = dict[str, Any]
TIGHT = Fraction(1, 1000)


def kind_of(rule: Rule) -> str:
    """`share`, `use-range`, `line-count` …"""
    name = type(rule).__name__
    return "".join(f"-{mark.lower()}" if mark.isupper() else mark for mark in name).lstrip("-")


def rule_dict(rule: Rule, currency: str) -> Value:
    """A rule with its limits as quantities; `terms` holds what its kind needs besides."""
    head = rule.head
    low, high, unit, terms = _limits(rule, currency)
    return {
        "id": head.id,
        "kind": kind_of(rule),
        "basis": head.basis,
        "sentence": head.sentence,
        "source": head.source,
        "why": head.why,
        "rank": head.rank,
        "at": _at(head),
        "low": quantity(low, unit),
        "high": quantity(high, unit),
        "terms": terms | _firm(head),
    }


def _at(head: Head) -> str:
    """At which values of the data a rule holds; `some`: with a few numbers at their worst."""
    if head.at_worst:
        return "worst"
    return "middle" if head.off_at_once is None else "some"


def _firm(head: Head) -> Value:
    return {} if _at(head) != "some" else {"off_at_once": quantity(head.off_at_once, "numbers")}


Limits = tuple[Fraction | None, Fraction | None, str, Value]


def _limits(rule: Rule, currency: str) -> Limits:
    match rule:
        case Share():
            return rule.low, rule.high, "%", {"of": selector_list(rule.of), "phase": rule.phase}
        case Level():
            return rule.low, rule.high, unit_of(rule), {"strength": rule.strength, "phase": rule.phase}
        case Mean():
            return rule.low, rule.high, unit_of(rule), {"property": rule.figure}
        case Ratio():
            terms = {
                "top": selector_list(rule.top),
                "bottom": selector_list(rule.bottom),
                "phase": rule.phase,
            }
            return rule.low, rule.high, "g/g", terms
        case Amount() | UseRange():
            return rule.low, rule.high, "%", {"ingredient": rule.ingredient}
        case Acidity():
            return rule.low, rule.high, "pH", {}
        case Thickness():
            return rule.low, rule.high, "Pa.s", {"shear": quantity(rule.shear, "1/s")}
        case FreeLiquid():
            return rule.low, rule.high, "%", {"liquid": "oil" if rule.oily else "water"}
        case Forecast():
            return rule.low, rule.high, UNITS[rule.of], {"of": rule.of}
        case Response():
            own: Value = {"response": rule.fitted.id, "trials": list(rule.fitted.trials)}
            made = {one.name: quantity(one.low, one.unit) for one in rule.fitted.settings}
            own |= {"made": made} if made else {}
            return rule.low, rule.high, rule.fitted.unit, own
        case Cost():
            return None, rule.high, f"{currency}/kg", {}
        case Newcomers() | LineCount():
            return None, Fraction(rule.at_most), "ingredients", {}
        case Legal():
            members = [{"substance": name, "factor": quantity(by, "g/g")} for name, by in rule.members]
            return None, rule.maximum, "%", {"members": members}
        case Absent() | Covers() | Reaches() | Clash() | Needs() | Stock():
            return None, None, "", _terms(rule)
        case _:
            assert_never(rule)


def _terms(rule: Absent | Covers | Reaches | Clash | Needs | Stock) -> Value:
    match rule:
        case Absent():
            return {"of": selector_list(rule.of)}
        case Covers() | Reaches():
            return {"group": rule.group, "ph_top": quantity(rule.ph_top, "pH")}
        case Clash():
            return {"a": selector_list(rule.a), "b": selector_list(rule.b)}
        case Needs():
            return {
                "when": selector_list(rule.when),
                "above": quantity(rule.above, "%"),
                "needs": selector_list(rule.needs),
                "at_least": quantity(rule.at_least, "%"),
            }
        case Stock():
            return {"most": quantities(rule.most, "%")}
        case _:
            assert_never(rule)


def selector_list(selector: Selector) -> list[str]:
    """`["kind:clay", "kind:charcoal"]`: what any of them matches is meant."""
    picks = selector.picks if isinstance(selector, AnyOf) else (selector,)
    return [f"{pick.field}:{pick.name}" for pick in picks]


def quantities(amounts: Mapping[str, Fraction], unit: str) -> Value:
    return {name: quantity(amount, unit) for name, amount in sorted(amounts.items())}


def verdict_dict(verdict: Verdict) -> Value:
    """A verdict; `binding` when the rule stands at its limit, within 0.001 of its unit."""
    return {
        "id": verdict.rule.head.id,
        "met": verdict.met,
        "at": _at(verdict.rule.head),
        "value": quantity(verdict.value, verdict.unit),
        "low": quantity(verdict.low, verdict.unit),
        "high": quantity(verdict.high, verdict.unit),
        "margin": quantity(verdict.margin, verdict.unit),
        "binding": verdict.met and verdict.margin is not None and verdict.margin <= TIGHT,
        "note": verdict.note,
    }


def remarks(items: tuple[Remark, ...], about: str = "about", text: str = "text") -> list[Value]:
    return [{about: item.about, text: item.text, "source": item.source} for item in items]
