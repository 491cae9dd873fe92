"""What a rule asks and how far one gets with it, in the maker's words and with the numbers of the request."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import assert_never

from optimiser.checks.forecasts import UNITS
from optimiser.checks.measures import unit_of
from optimiser.domain.request import Request
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Clash,
    Cost,
    Covers,
    Forecast,
    FreeLiquid,
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
from optimiser.domain.selector import AnyOf, Pick, Selector
from optimiser.explain.giving import Side, is_ceiling
from optimiser.requests.sentences import number

Foretold = Thickness | FreeLiquid | Forecast | Response | Cost | Acidity
Sided = Share | Level | Mean | Amount | UseRange | Ratio | Foretold
WHO = {
    "asked": "You ask",
    "briefs": "You ask",
    "carried": "The base holds",
    "hero": "The base holds",
    "preservative": "The base holds",
    "dosed": "The base holds",
    "ceiling": "The formula allows",
    "range": "The supplier says",
    "trials": "The trials allow",
    "carrier": "Common practice asks",
    "house": "Common practice asks",
}
"""Whose rule it is, by how its id begins; the formula's own targets else."""
WORD = {
    "low": "at least",
    "at_least": "at least",
    "high": "at most",
    "at_most": "at most",
    "maximum": "at most",
}


@dataclass(frozen=True, slots=True)
class Tongue:
    """What words need of the request: names of ingredients and the currency."""

    request: Request

    def named(self, ingredient: str) -> str:
        known = self.request.ingredients.get(ingredient) or self.request.lenders.get(ingredient)
        if known is not None:
            return known.name
        aside = (one.name for one in self.request.set_aside if one.ingredient == ingredient)
        return next(aside, "") or ingredient

    def of(self, selector: Selector) -> str:
        """`clay`, `gum or polyol`, `what is flagged nut`; an ingredient by its name."""
        picks = selector.picks if isinstance(selector, AnyOf) else (selector,)
        return " or ".join(self._pick(pick) for pick in picks)

    def _pick(self, pick: Pick) -> str:
        match pick.field:
            case "ingredient":
                return self.named(pick.name)
            case "flag":
                return f"what is flagged {pick.name}"
            case "role":
                return f"{pick.name.replace('-', ' ')} ingredients"
            case _:
                return pick.name


def who(rule: Rule) -> str:
    origin = rule.head.id.replace("/", "#").split("#", 1)[0]
    return WHO.get(origin, "The formula asks")


def measure_of(rule: Sided, tongue: Tongue) -> tuple[str, str, str]:
    """(before the number, unit, after it): `"", "%", "clay"` makes `at least 45 % clay`."""
    match rule:
        case Share():
            where = f" in phase {rule.phase}" if rule.phase and not is_ceiling(rule) else ""
            return "", "%", f" {tongue.of(rule.of)}{where}"
        case Level():
            where = f" in phase {rule.phase}" if rule.phase else ""
            name = rule.strength.removeprefix("least_dose_")
            return f"a level of {name} of ", unit_of(rule), where
        case Mean():
            return f"mean {rule.figure.replace('_', ' ')} of ", unit_of(rule), ""
        case Amount():
            return "", "%", f" {tongue.named(rule.ingredient)}"
        case UseRange():
            return "", "%", f" {tongue.named(rule.ingredient)} where it is used"
        case Ratio():
            where = f" in phase {rule.phase}" if rule.phase else ""
            return "", "parts", f" {tongue.of(rule.top)} to one of {tongue.of(rule.bottom)}{where}"
        case Thickness() | FreeLiquid() | Forecast() | Response() | Cost() | Acidity():
            return _foretold(rule, tongue)
        case _:
            assert_never(rule)


def _foretold(rule: Foretold, tongue: Tongue) -> tuple[str, str, str]:
    match rule:
        case Thickness():
            return "a thickness of ", "Pa.s", f" at {number(rule.shear)}/s"
        case FreeLiquid():
            return "", "%", f" free {'oil' if rule.oily else 'liquid'} after what the powders drink"
        case Forecast() if rule.of == "allergens":
            return "", "", " listed allergens named on the label"
        case Forecast():
            return f"{rule.of.replace('_', ' ')} of ", UNITS[rule.of], ""
        case Response():
            return f"a {rule.fitted.name} of ", rule.fitted.unit, ""
        case Cost():
            return "", f"{tongue.request.currency} per kg", ""
        case Acidity():
            return "a pH of ", "", ""
        case _:
            assert_never(rule)


def limit_words(rule: Rule, side: Side, value: Fraction, tongue: Tongue) -> str:
    """`at least 45 %`: a limit with its unit, as a concession names it."""
    unit = "%" if isinstance(rule, Needs | Legal) else "" if side.which == "at_most" else _unit(rule, tongue)
    return f"{WORD[side.which]} {number(value)}{f' {unit}' if unit else ''}"


def _unit(rule: Rule, tongue: Tongue) -> str:
    return measure_of(rule, tongue)[1] if isinstance(rule, Sided) and not isinstance(rule, Ratio) else ""


def side_words(rule: Rule, side: Side, value: Fraction, tongue: Tongue) -> str:
    """`at least 45 % clay`, `a pH of at most 5`, `at most 2 new ingredients`."""
    if isinstance(rule, Newcomers):
        return f"at most {number(value)} new ingredient{'' if value == 1 else 's'}"
    if isinstance(rule, LineCount):
        return f"at most {number(value)} ingredient{'' if value == 1 else 's'} in all"
    if isinstance(rule, Needs):
        beside = f"{tongue.of(rule.needs)} beside {tongue.of(rule.when)}"
        return f"at least {number(value)} % {beside}"
    if not isinstance(rule, Sided):
        return rule.head.sentence.rstrip(".")
    before, unit, after = measure_of(rule, tongue)
    tail = f" {unit}" if unit else ""
    return f"{before}{WORD[side.which]} {number(value)}{tail}{after}"


def best_words(rule: Rule, side: Side, value: Fraction, tongue: Tongue) -> str:
    """`41.2 % is the most`: the limit that the rest allows."""
    unit = _unit(rule, tongue) or ("%" if isinstance(rule, Needs) else "")
    if isinstance(rule, Ratio):
        unit = "parts"
    end = "the most" if side.floor else "the least"
    if side.which == "at_most":
        return f"{number(value)} {'is' if value == 1 else 'are'} needed"
    if isinstance(rule, Acidity):
        return f"the {'highest' if side.floor else 'lowest'} pH that can be held is {number(value)}"
    return f"{number(value)}{f' {unit}' if unit else ''} is {end}"


def asked_words(rule: Rule, tongue: Tongue) -> str:
    """The whole rule as a clause: `you ask at least 45 % clay`."""
    match rule:
        case Share() | Level() | Mean() | Amount() | UseRange() | Ratio() | Thickness():
            return _both(rule, tongue)
        case FreeLiquid() | Forecast() | Response() | Cost() | Acidity():
            return _both(rule, tongue)
        case Newcomers() | LineCount():
            side = Side("at_most", Fraction(rule.at_most), Fraction(rule.at_most))
            return side_words(rule, side, side.asked, tongue)
        case Absent():
            return f"no {tongue.of(rule.of)}" if not _flagged(rule.of) else f"nothing {_flag(rule.of)}"
        case Covers() | Reaches():
            where = f" up to pH {number(rule.ph_top)}" if rule.ph_top is not None else ""
            how = "covered" if isinstance(rule, Covers) else "reached in the water"
            return f"{rule.group} {how} by one preservative{where}"
        case Legal() | Clash() | Stock() | Needs():
            return rule.head.sentence.rstrip(".")
        case _:
            assert_never(rule)


def _flagged(selector: Selector) -> bool:
    return isinstance(selector, Pick) and selector.field == "flag"


def _flag(selector: Selector) -> str:
    return f"that is or may be {selector.name}" if isinstance(selector, Pick) else ""


def _both(rule: Sided, tongue: Tongue) -> str:
    before, unit, after = measure_of(rule, tongue)
    tail = f" {unit}" if unit else ""
    low, high = getattr(rule, "low", None), rule.high
    if low is not None and high is not None:
        span = f"exactly {number(low)}" if low == high else f"{number(low)} to {number(high)}"
    else:
        span = f"at least {number(low)}" if low is not None else f"at most {number(high or Fraction(0))}"
    return f"{before}{span}{tail}{after}"


def reworded(new: Rule, words: str) -> Rule:
    """The rule under its new limit, named as a concession."""
    return replace(new, head=replace(new.head, sentence=f"{words[:1].upper()}{words[1:]} (a concession)."))
