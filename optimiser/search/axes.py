"""Measures a curve can run along: as a cost of the linear model, and exactly on printed shares."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks import measures
from optimiser.checks.amounts import Amounts
from optimiser.checks.natural_origin import natural_origin
from optimiser.domain.curve import Axis
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Head, Level, Mean, Share
from optimiser.domain.selector import Selector
from optimiser.lp import names
from optimiser.lp.aims import Objective, departure
from optimiser.lp.families import measure, price
from optimiser.lp.scope import HUNDRED, Coefs, Scope, scaled
from optimiser.model.rows import Row
from optimiser.search import telling

ONE, ZERO = Fraction(1), Fraction(0)
HEAD = Head("curve#measure", "", "")
Shares = Mapping[Slot, Fraction]
Value = Callable[[Request, Shares], Fraction | None]


@dataclass(frozen=True, slots=True)
class Along:
    """One measure: `objective` is small where the measure is as wished; `value` is the measure itself."""

    axis: Axis
    objective: Objective
    value: Value

    @property
    def sign(self) -> int:
        return -1 if self.axis.more else 1


def along_cost(request: Request, asked: str, more: bool) -> Along:
    unit = f"{request.currency}/kg"
    coefs = scaled(price(Scope(request)), ONE / HUNDRED)
    found = _along(
        Axis(asked, "cost", unit, more), coefs, lambda _, shares: measures.cost(_now(request, shares))
    )
    return _only_known(found, request, lambda one: one.pack is not None)


def along_departure(request: Request, asked: str, more: bool) -> Along:
    """How far the formula leaves the base; only the way towards the base is a straight one."""
    objective = departure(Scope(request))

    def value(of: Request, shares: Shares) -> Fraction:
        return sum((part for _, part in telling.departure(of, shares)), ZERO)

    return Along(Axis(asked, "departure", "points", more), objective, value)


def along_share(request: Request, asked: str, more: bool, of: Selector) -> Along:
    """What surely counts where more is wanted, what may count where less is."""
    rule = Share(HEAD, of)
    coefs = measure(rule, Scope(request), "low" if more else "high")
    end = 0 if more else 1

    def value(_: Request, shares: Shares) -> Fraction:
        return measures.ends(rule, _now(request, shares))[end]

    return _along(Axis(asked, f"share of {of}", "%", more), coefs, value)


def along_mean(request: Request, asked: str, more: bool, figure: str, unit: str) -> Along:
    rule = Mean(HEAD, figure)
    coefs = scaled(measure(rule, Scope(request), "high"), ONE / HUNDRED)
    name = figure.replace("_", " ")
    found = _along(
        Axis(asked, name if figure == "natural_origin" else f"mean {name}", unit, more),
        coefs,
        lambda _, shares: (
            natural_origin(_now(request, shares))
            if figure == "natural_origin"
            else measures.middle(rule, _now(request, shares))
        ),
    )
    return _only_known(found, request, lambda one: one.figure(figure) is not None)


def along_level(request: Request, asked: str, more: bool, strength: str) -> Along:
    rule = Level(HEAD, strength)
    coefs = measure(rule, Scope(request), "high")
    axis = Axis(asked, f"level of {strength.replace('_', ' ')}", measures.unit_of(rule), more)
    return _along(axis, coefs, lambda _, shares: measures.middle(rule, _now(request, shares)))


def along_count(request: Request, asked: str, more: bool, newcomers: bool) -> Along:
    """Ingredients in all, or those that the base lacks."""
    counted = request.newcomers if newcomers else frozenset(Scope(request).slots_of)
    coefs = {names.used(name): ONE for name in sorted(counted)}
    axis = Axis(asked, "new ingredients" if newcomers else "ingredients", "", more, whole=True)

    def value(_: Request, shares: Shares) -> Fraction:
        return Fraction(len({slot.ingredient for slot, share in shares.items() if share} & counted))

    return _along(axis, coefs, value)


def _along(axis: Axis, coefs: Coefs, value: Value) -> Along:
    objective = Objective(axis.name, scaled(coefs, Fraction(-1 if axis.more else 1)), unit=axis.unit)
    return Along(axis, objective, value)


def _only_known(along: Along, request: Request, known: Callable[[Ingredient], bool]) -> Along:
    """What has no number for the measure is kept out: it would count as none."""
    out = [slot for slot in request.slots if not known(request.ingredients[slot.ingredient])]
    rows = tuple(
        Row(f"curve:unknown:{slot}", ((names.share(slot), ONE),), None, ZERO, "curve", "") for slot in out
    )
    return replace(along, objective=replace(along.objective, rows=(*along.objective.rows, *rows)))


def _now(request: Request, shares: Shares) -> Amounts:
    return Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)
