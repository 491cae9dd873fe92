"""The verdict on each rule for given shares."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import assert_never

from optimiser.checks import measures
from optimiser.checks.acidity import judge_acidity
from optimiser.checks.amounts import Amounts, counted
from optimiser.checks.forecasts import judge_forecast
from optimiser.checks.free import judge_reaches
from optimiser.checks.free_liquid import judge_free_liquid
from optimiser.checks.responses import judge_response
from optimiser.checks.thickness import judge_thickness
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request, Slot
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
from optimiser.units.numbers import show_number

TOTAL = Head("total", "All lines together are exactly 100 %, in whole steps of 0.001 %.", basis="physics")
WEIGHED = Head("total", "All weights together are exactly the batch.", basis="physics")
ZERO = Fraction(0)


def judge(request: Request, shares: Mapping[Slot, Fraction]) -> tuple[Verdict, ...]:
    """Verdicts in order of rule id, the total first; no use ranges of ingredients that are not there."""
    lines = tuple((slot, share) for slot, share in sorted(shares.items()) if share)
    amounts = Amounts(lines, request.ingredients)
    verdicts = [_total(shares, request.grid)]
    for rule in sorted(request.rules, key=lambda r: r.head.id):
        if isinstance(rule, UseRange) and not amounts.of(rule.ingredient):
            continue
        verdicts.append(verdict_on(rule, amounts, request))
    return tuple(verdicts)


def broken(verdicts: tuple[Verdict, ...]) -> tuple[Verdict, ...]:
    """Musts that do not hold."""
    return tuple(v for v in verdicts if not v.met and v.rule.head.rank is None)


def _total(shares: Mapping[Slot, Fraction], grid: Fraction | None) -> Verdict:
    total = sum(shares.values(), ZERO)
    whole = grid is None or all((share / grid).denominator == 1 for share in shares.values())
    on_grid = whole and all(share >= 0 for share in shares.values())
    hundred = Fraction(100)
    rule = Share(TOTAL if grid is not None else WEIGHED, measures.EVERYTHING, hundred, hundred)
    return Verdict(rule, total == hundred and on_grid, total, hundred, hundred, "%", -abs(total - hundred))


def verdict_on(rule: Rule, amounts: Amounts, request: Request) -> Verdict:
    """One rule in exact fractions."""
    match rule:
        case Share() | Level() | Mean():
            low, high = measures.ends(rule, amounts)
            middle = measures.middle(rule, amounts)
            return _window(rule, low, high, rule.low, rule.high, measures.unit_of(rule), middle)
        case Ratio():
            return _ratio(rule, amounts)
        case Absent():
            found = amounts.sum(lambda i: Fraction(1) if counted(rule.of, i).at_most else ZERO)
            names = ", ".join(i.name for i in amounts.present if counted(rule.of, i).at_most)
            return Verdict(rule, found == 0, found, None, ZERO, "%", -found, names)
        case Amount():
            value = amounts.of(rule.ingredient)
            return _window(rule, value, value, rule.low, rule.high, "%", value)
        case UseRange():
            value = amounts.of(rule.ingredient)
            return _window(rule, value, value, rule.low if value else None, rule.high, "%", value)
        case Legal():
            value = amounts.sum(lambda i: measures.counted_by_law(rule, i))
            unknown = [i.name for i in amounts.present if i.composition is None]
            note = f"make-up not known: {', '.join(unknown)}" if unknown else ""
            return _window(rule, value, value, None, rule.maximum, "%", value, note)
        case Covers():
            return _covers(rule, amounts)
        case Reaches():
            return judge_reaches(rule, amounts, request)
        case Acidity() | Thickness() | FreeLiquid() | Forecast() | Response():
            return _predicted(rule, amounts, request)
        case Cost():
            return _cost(rule, amounts, f"{request.currency}/kg")
        case Newcomers():
            return _count(rule, rule.at_most, sum(i.id in request.newcomers for i in amounts.present))
        case LineCount():
            return _count(rule, rule.at_most, len(amounts.present))
        case Clash():
            return _clash(rule, amounts)
        case Needs():
            return _needs(rule, amounts)
        case Stock():
            return _stock(rule, amounts)
        case _:
            assert_never(rule)


def _predicted(
    rule: Acidity | Thickness | FreeLiquid | Forecast | Response, amounts: Amounts, request: Request
) -> Verdict:
    match rule:
        case Acidity():
            return judge_acidity(rule, amounts, request)
        case Thickness():
            return judge_thickness(rule, amounts, request)
        case FreeLiquid():
            return judge_free_liquid(rule, amounts)
        case Forecast():
            return judge_forecast(rule, amounts, request)
        case Response():
            return judge_response(rule, amounts)
        case _:
            assert_never(rule)


def _window(
    rule: Rule,
    least: Fraction,
    most: Fraction,
    low: Fraction | None,
    high: Fraction | None,
    unit: str,
    shown: Fraction,
    note: str = "",
) -> Verdict:
    margins = []
    if low is not None:
        margins.append(least - low)
    if high is not None:
        margins.append(high - most)
    margin = min(margins) if margins else None
    return Verdict(rule, margin is None or margin >= 0, shown, low, high, unit, margin, note)


def _cost(rule: Cost, amounts: Amounts, unit: str) -> Verdict:
    value = measures.cost(amounts)
    if value is None:
        return Verdict(rule, False, None, None, rule.high, unit, None, "a price is missing")
    return _window(rule, value, value, None, rule.high, unit, value)


def _count(rule: Newcomers | LineCount, at_most: int, found: int) -> Verdict:
    return Verdict(
        rule, found <= at_most, Fraction(found), None, Fraction(at_most), "", Fraction(at_most - found)
    )


def _ratio(rule: Ratio, amounts: Amounts) -> Verdict:
    """Multiplied out: nothing over nothing meets "at most", something over nothing does not.

    The margin is one of the ratio; there is none over nothing.
    """
    top = amounts.sum(lambda i: counted(rule.top, i).at_most, rule.phase)
    top_low = amounts.sum(lambda i: counted(rule.top, i).surely, rule.phase)
    bottom = amounts.sum(lambda i: counted(rule.bottom, i).surely, rule.phase)
    bottom_high = amounts.sum(lambda i: counted(rule.bottom, i).at_most, rule.phase)
    met, margins = True, []
    if rule.high is not None:
        met = top <= rule.high * bottom
        margins += [rule.high - top / bottom] if bottom else []
    if rule.low is not None:
        met = met and top_low >= rule.low * bottom_high
        margins += [top_low / bottom_high - rule.low] if bottom_high else []
    value = top / bottom if bottom else None
    return Verdict(rule, met, value, rule.low, rule.high, "", min(margins, default=None))


def _covers(rule: Covers, amounts: Amounts) -> Verdict:
    """How many least doses the best single preservative stands at."""
    best, name = ZERO, ""
    for ingredient in amounts.present:
        doses = measures.doses_of(rule, ingredient, amounts.of(ingredient.id))
        if doses > best:
            best, name = doses, ingredient.name
    note = f"by {name}" if name else _uncovered(rule, amounts)
    return Verdict(rule, best >= 1, best, Fraction(1), None, "least doses", best - 1, note)


def _uncovered(rule: Covers, amounts: Amounts) -> str:
    """Why nothing counts: the preservatives that are there for the group, and how far up they work."""
    there = [one for one in amounts.present if one.figure(f"least_dose_{rule.group}") is not None]
    tops = [(one.name, one.figure("ph_works_max")) for one in there]
    told = [f"{name} works up to pH {show_number(top.low, 1)} only" for name, top in tops if top is not None]
    if rule.ph_top is None:
        told = [f"{name} counts only where a pH rule holds the pH" for name, top in tops if top is not None]
    return "; ".join(told) or "no preservative that counts"


def _clash(rule: Clash, amounts: Amounts) -> Verdict:
    first = [i for i in amounts.present if counted(rule.a, i).surely]
    second = [i for i in amounts.present if counted(rule.b, i).surely]
    pairs = [(i.name, j.name) for i in first for j in second if i.id != j.id]
    note = f"{pairs[0][0]} with {pairs[0][1]}" if pairs else ""
    return Verdict(rule, not pairs, Fraction(len(pairs)), None, ZERO, "", None, note)


def _needs(rule: Needs, amounts: Amounts) -> Verdict:
    asking = amounts.sum(lambda i: counted(rule.when, i).at_most)
    serving = amounts.sum(lambda i: counted(rule.needs, i).surely)
    called = asking > rule.above
    return Verdict(
        rule, not called or serving >= rule.at_least, serving, rule.at_least if called else None, None, "%"
    )


def _stock(rule: Stock, amounts: Amounts) -> Verdict:
    margins = [(rule.most.get(i.id, ZERO) - amounts.of(i.id), i.name) for i in amounts.present]
    if not margins:
        return Verdict(rule, True)
    margin, name = min(margins)
    return Verdict(rule, margin >= 0, None, None, None, "%", margin, f"least left of {name}")
