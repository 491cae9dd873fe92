"""One writer of rows for each kind of rule."""

from __future__ import annotations

from fractions import Fraction
from typing import assert_never

from optimiser.domain.ingredient import Ingredient
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
from optimiser.domain.selector import AnyOf, Pick
from optimiser.lp import names
from optimiser.lp.acidity import acidity
from optimiser.lp.firm import firmly
from optimiser.lp.forecast import forecast
from optimiser.lp.free_liquid import free_liquid
from optimiser.lp.reaching import reaches
from optimiser.lp.response import response
from optimiser.lp.scope import HUNDRED, Coefs, Piece, Rows, Scope, binary, merged, scaled
from optimiser.lp.thickness import thickness
from optimiser.lp.weights import Side, figure_for, legal_factor, part_of

ONE = Fraction(1)


def rows_of(rule: Rule, scope: Scope) -> Rows:
    """The rows and helper variables that make the rule hold."""
    match rule:
        case Share() | Level() | Mean():
            return _measured(rule, scope)
        case Ratio():
            return _ratio(rule, scope)
        case Absent():
            return _absent(rule, scope)
        case Amount():
            coefs = scope.total(rule.ingredient)
            return Rows(_window(coefs, coefs, rule.low, rule.high, ONE))
        case UseRange():
            return _use_range(rule, scope)
        case Legal():
            return _legal(rule, scope)
        case Covers():
            return _covers(rule, scope)
        case Reaches():
            return reaches(rule, scope)
        case Acidity() | Thickness() | FreeLiquid() | Forecast() | Response():
            return _predicted(rule, scope)
        case Cost():
            return Rows((Piece(price(scope), None, rule.high * HUNDRED, "most", HUNDRED),))
        case Newcomers():
            coefs = {names.used(i): ONE for i in sorted(scope.request.newcomers)}
            return Rows((Piece(coefs, None, Fraction(rule.at_most), "most"),))
        case LineCount():
            coefs = {names.used(i): ONE for i in sorted(scope.slots_of)}
            return Rows((Piece(coefs, None, Fraction(rule.at_most), "most"),))
        case Clash():
            return _clash(rule, scope)
        case Needs():
            return _needs(rule, scope)
        case Stock():
            caps = [(i, rule.most.get(i, Fraction(0))) for i in sorted(scope.slots_of)]
            return Rows(tuple(Piece(scope.total(i), None, most, i, None) for i, most in caps))
        case _:
            assert_never(rule)


def _predicted(rule: Acidity | Thickness | FreeLiquid | Forecast | Response, scope: Scope) -> Rows:
    match rule:
        case Acidity():
            return acidity(rule, scope)
        case Thickness():
            return thickness(rule, scope)
        case FreeLiquid():
            return free_liquid(rule, scope)
        case Forecast():
            return forecast(rule, scope)
        case Response():
            return response(rule, scope)
        case _:
            assert_never(rule)


def measure(of: Share | Level | Mean, scope: Scope, side: Side) -> Coefs:
    """Coefficients of the measure per % of each line (a mean still has to be divided by 100)."""
    match of:
        case Share():
            return scope.counted(of.of, side, of.phase)
        case Level():
            return scope.weighted(lambda i: _strength(i, of, side, scope), of.phase)
        case Mean():
            return scope.weighted(lambda i: _figure(i, of.figure, side, of.head.at_worst, scope))
        case _:
            assert_never(of)


def price(scope: Scope) -> Coefs:
    """Currency per kg, per % of each line, times 100."""
    return scope.weighted(lambda ingredient: ingredient.price_per_kg or Fraction(0))


def _strength(ingredient: Ingredient, of: Level, side: Side, scope: Scope) -> Fraction:
    figure = ingredient.figure(of.strength)
    if figure is None:
        return Fraction(0)
    if of.strength.startswith("least_dose_"):
        dose = figure_for(
            figure, "low" if side == "high" else "high", at_worst=of.head.at_worst, lenient=scope.lenient
        )
        return ONE / dose if dose else Fraction(0)
    return figure_for(figure, side, at_worst=of.head.at_worst, lenient=scope.lenient)


def _figure(ingredient: Ingredient, name: str, side: Side, at_worst: bool, scope: Scope) -> Fraction:
    figure = ingredient.figure(name)
    return (
        Fraction(0) if figure is None else figure_for(figure, side, at_worst=at_worst, lenient=scope.lenient)
    )


def _measured(rule: Share | Level | Mean, scope: Scope) -> Rows:
    """A share counts at its worst whatever is asked; levels and means may be held firm."""

    def written(of: Share | Level | Mean) -> tuple[Piece, ...]:
        per = HUNDRED if isinstance(of, Mean) else ONE
        return _window(measure(of, scope, "low"), measure(of, scope, "high"), of.low, of.high, per)

    return Rows(written(rule)) if isinstance(rule, Share) else firmly(rule, scope, written)


def _window(
    low_coefs: Coefs, high_coefs: Coefs, low: Fraction | None, high: Fraction | None, per: Fraction
) -> tuple[Piece, ...]:
    pieces = []
    if low is not None:
        pieces.append(Piece(low_coefs, low * per, None, "least", per))
    if high is not None:
        pieces.append(Piece(high_coefs, None, high * per, "most", per))
    return tuple(pieces)


def _ratio(rule: Ratio, scope: Scope) -> Rows:
    def group(selector: Pick | AnyOf, side: Side) -> Coefs:
        return scope.summed(selector, side, rule.phase)

    pieces = []
    if rule.low is not None:
        coefs = merged(group(rule.top, "low"), scaled(group(rule.bottom, "high"), -rule.low))
        pieces.append(Piece(coefs, Fraction(0), None, "least", None))
    if rule.high is not None:
        coefs = merged(group(rule.top, "high"), scaled(group(rule.bottom, "low"), -rule.high))
        pieces.append(Piece(coefs, None, Fraction(0), "most", None))
    return Rows(tuple(pieces))


def _absent(rule: Absent, scope: Scope) -> Rows:
    coefs = scope.weighted(lambda ingredient: ONE if part_of(rule.of, ingredient, "high") else Fraction(0))
    return Rows((Piece(coefs, None, Fraction(0), "none", None),) if coefs else ())


def _use_range(rule: UseRange, scope: Scope) -> Rows:
    if rule.ingredient not in scope.slots_of:
        return Rows(())
    total, here = scope.total(rule.ingredient), names.used(rule.ingredient)
    pieces = []
    if rule.low is not None:
        pieces.append(Piece(merged(total, {here: -rule.low}), Fraction(0), None, "least", None))
    if rule.high is not None:
        pieces.append(Piece(merged(total, {here: -rule.high}), None, Fraction(0), "most", None))
    return Rows(tuple(pieces))


def _legal(rule: Legal, scope: Scope) -> Rows:
    factors = {name.casefold(): factor for name, factor in rule.members}
    here = {name: legal_factor(scope.request.ingredients[name], factors) for name in scope.holders(factors)}
    coefs = {
        names.share(slot): factor
        for slot in scope.request.slots
        if (factor := here.get(slot.ingredient, Fraction(0)))
    }
    return Rows((Piece(coefs, None, rule.maximum, "most"),))


def _covers(rule: Covers, scope: Scope) -> Rows:
    pieces, found, extra = [], {}, []
    for ingredient in sorted(scope.slots_of):
        dose = _dose(scope.request.ingredients[ingredient], rule, scope)
        if not dose:
            continue
        flag = names.doses(rule.group, ingredient)
        extra.append(binary(flag, f"{ingredient} covers {rule.group}"))
        found[flag] = ONE
        reached = merged(scope.total(ingredient), {flag: -dose})
        pieces.append(Piece(reached, Fraction(0), None, ingredient, None, meaning=True))
    pieces.append(Piece(found, ONE, None, "one", ONE))
    return Rows(tuple(pieces), tuple(extra))


def _dose(ingredient: Ingredient, rule: Covers, scope: Scope) -> Fraction | None:
    least, top = ingredient.figure(f"least_dose_{rule.group}"), ingredient.figure("ph_works_max")
    if least is None or ingredient.group != "preservative":
        return None
    if ingredient.kind == "preservative-acid" and top is None:
        return None
    if top is not None:
        works_to = figure_for(top, "low", at_worst=True, lenient=scope.lenient)
        if rule.ph_top is None or rule.ph_top > works_to:
            return None
    return figure_for(least, "high", at_worst=True, lenient=scope.lenient)


def _clash(rule: Clash, scope: Scope) -> Rows:
    first, second = scope.holding(rule.a, "low"), scope.holding(rule.b, "low")
    both = sorted({*first} & {*second})
    pieces = [_never_both(i, j) for i in both for j in sorted({*first, *second}) if j not in both or i < j]
    first, second = ([i for i in side if i not in both] for side in (first, second))
    if len(first) == 1 and len(second) == 1:
        pieces.append(_never_both(first[0], second[0]))
    elif first and second:
        flag = names.side(rule.head.id)
        pieces += [Piece({names.used(i): ONE, flag: -ONE}, None, Fraction(0), i, None) for i in first]
        pieces += [Piece({names.used(j): ONE, flag: ONE}, None, ONE, j, None) for j in second]
        return Rows(tuple(pieces), (binary(flag, rule.head.sentence),))
    return Rows(tuple(pieces))


def _never_both(one: str, other: str) -> Piece:
    return Piece({names.used(one): ONE, names.used(other): ONE}, None, ONE, f"{one}+{other}", None)


def _needs(rule: Needs, scope: Scope) -> Rows:
    asking = scope.counted(rule.when, "high")
    if not asking:
        return Rows(())
    serving = scope.counted(rule.needs, "low")
    flag = names.side(rule.head.id)
    called = Piece(merged(asking, {flag: -HUNDRED}), None, rule.above, "called", None, meaning=True)
    served = Piece(merged(serving, {flag: -rule.at_least}), Fraction(0), None, "served", None)
    return Rows((called, served), (binary(flag, rule.head.sentence),))
