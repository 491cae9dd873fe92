"""The pH window as rows of charge: at its foot not less than nought, at its top not more.

Lines dosed to the pH stand at their ceiling where they help and at none where they hinder: then for every
value in the data some dose between reaches the window. Inner rows are written at three ionic strengths with a
cap on it; lenient rows take for each ingredient the best charge over all strengths, and the best end of
assumed data.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.rules import Acidity
from optimiser.domain.selector import AnyOf, Pick
from optimiser.lp import names
from optimiser.lp.scope import Coefs, Piece, Rows, Scope
from optimiser.lp.weights import part_of
from optimiser.model.rows import Var
from optimiser.science.acidity import LEAST_WATER, MOST_GLYCOL
from optimiser.science.acidity_rows import (
    MOST_CAP,
    charge_bounds_per_gram,
    charge_per_gram,
    inner_levels,
    ion_strength_per_gram,
    strength_coefficient,
)
from optimiser.science.charge import ChargeProfile, End
from optimiser.science.formula import profiles_for

ADJUSTERS = AnyOf((Pick("role", "acid-adjuster"), Pick("role", "alkali-adjuster"), Pick("role", "buffering")))
ZERO, ONE = Fraction(0), Fraction(1)
charge_at = lru_cache(maxsize=1 << 15)(charge_per_gram)
bounds_at = lru_cache(maxsize=1 << 14)(charge_bounds_per_gram)
strength_at = lru_cache(maxsize=1 << 14)(ion_strength_per_gram)
"""The same ingredient at the same pH is asked for again by every model of a request."""
GLYCOL = Fraction(str(MOST_GLYCOL))
HAIR = Fraction(1, 10**6)
"""Lenient rows are wider by this much pH, for the judge solves and rounds to a millionth."""
POWDER_FIGURES = ("buffer_slope", "powder_ph")
Charge = Callable[[Ingredient, ChargeProfile], Fraction]


def acidity(rule: Acidity, scope: Scope) -> Rows:
    """By reading alone: some line to adjust with. Predicted: the charge rows as well."""
    able = [i for i, one in sorted(scope.request.ingredients.items()) if part_of(ADJUSTERS, one, "low")]
    there = Piece({names.used(i): ONE for i in able if i in scope.slots_of}, ONE, None, "adjuster", None)
    read, reading = _one_reading(rule, scope)
    if not rule.predicted:
        return Rows((there, *read), reading)
    profiles = _known(scope)
    pieces = [] if scope.lenient else [*_capped(rule, scope, profiles), *_trusted(scope, profiles)]
    for name, foot, top in _levels(rule, scope):
        at_foot, at_top = _dosed(rule, foot, max), _dosed(rule, top, min)
        pieces.append(Piece(_charges(scope, profiles, at_foot), ZERO, None, f"foot-{name}", None))
        pieces.append(Piece(_charges(scope, profiles, at_top), None, ZERO, f"top-{name}", None))
    return Rows((there, *read, *pieces) if rule.adjusters else (*read, *pieces), reading)


def _one_reading(rule: Acidity, scope: Scope) -> tuple[tuple[Piece, ...], tuple[Var, ...]]:
    """Where several windows are asked, one reading has to lie in all of them."""
    if sum(isinstance(other, Acidity) for other in scope.request.rules) < 2:
        return (), ()
    pieces = (
        Piece({names.READING: ONE}, rule.low, None, "reading-least"),
        Piece({names.READING: ONE}, None, rule.high, "reading-most"),
    )
    return pieces, (Var(names.READING, ZERO, Fraction(14), "C", "pH as read"),)


def _known(scope: Scope) -> dict[str, ChargeProfile]:
    every = profiles_for(scope.request.ingredients.values(), scope.request.substances)
    return {name: profile for name, profile in every.items() if isinstance(profile, ChargeProfile)}


def _dosed(rule: Acidity, charge: Charge, better: Callable[[Fraction, Fraction], Fraction]) -> Charge:
    """A dosed line stands at none where its charge hinders; what helps at one end may hinder at the other."""

    def of(ingredient: Ingredient, profile: ChargeProfile) -> Fraction:
        found = charge(ingredient, profile)
        return better(found, ZERO) if ingredient.id in rule.adjusters else found

    return of


def _levels(rule: Acidity, scope: Scope) -> list[tuple[str, Charge, Charge]]:
    """(name, charge at the foot, charge at the top) for each ionic strength the rows are written at."""
    ends: tuple[End, End] = ("low", "high") if rule.head.at_worst else ("middle", "middle")
    if scope.lenient:
        return [("any", *_outer(rule, ends))]
    levels = inner_levels(MOST_CAP) if scope.ionic is None else (scope.ionic,)
    return [(f"{number}", *_inner(rule, level, ends)) for number, level in enumerate(levels, 1)]


def _inner(rule: Acidity, level: Fraction, ends: tuple[End, End]) -> tuple[Charge, Charge]:
    return (
        lambda _, profile: charge_at(profile, rule.low, level, end=ends[0], rounding="down"),
        lambda _, profile: charge_at(profile, rule.high, level, end=ends[1], rounding="up"),
    )


def _outer(rule: Acidity, ends: tuple[End, End]) -> tuple[Charge, Charge]:
    low, high = rule.low - HAIR, rule.high + HAIR

    def end(ingredient: Ingredient, worst: End, best: End) -> End:
        figures = (ingredient.figure(name) for name in POWDER_FIGURES)
        return best if any(one is not None and one.status == "assumed" for one in figures) else worst

    return (
        lambda i, profile: charge_bounds_per_gram(profile, low, high_end=end(i, ends[0], "high"))[1],
        lambda i, profile: charge_bounds_per_gram(profile, high, low_end=end(i, ends[1], "low"))[0],
    )


def _charges(scope: Scope, profiles: dict[str, ChargeProfile], charge: Charge) -> Coefs:
    def of(ingredient: Ingredient) -> Fraction:
        profile = profiles.get(ingredient.id)
        return ZERO if profile is None else charge(ingredient, profile)

    return scope.weighted(of)


def _capped(rule: Acidity, scope: Scope, profiles: dict[str, ChargeProfile]) -> list[Piece]:
    """The ionic strength stays where the three levels hold the pH: a limit of the prediction alone."""

    def strength(ph: Fraction) -> Coefs:
        return scope.weighted(
            lambda i: (
                strength_coefficient(strength_at(profiles[i.id], ph), profiles[i.id], MOST_CAP)
                if i.id in profiles
                else ZERO
            )
        )

    if scope.ionic is not None:
        return []
    return [
        Piece(strength(ph), None, ZERO, f"ions-{name}", None)
        for name, ph in (("foot", rule.low), ("top", rule.high))
    ]


def _trusted(scope: Scope, profiles: dict[str, ChargeProfile]) -> list[Piece]:
    """Few glycols in the water phase, and a water phase: limits of the prediction, so never in lenient rows.

    Lines dosed by reading may be left out of the pot, so the water they bring is not counted on.
    """
    dosed = {slot.ingredient for slot in scope.request.dosed}

    def weighed(of: Callable[[ChargeProfile], Fraction]) -> Coefs:
        def term(ingredient: Ingredient) -> Fraction:
            profile = profiles.get(ingredient.id, ChargeProfile())
            found = of(profile)
            return max(found, ZERO) if ingredient.id in dosed else found

        return scope.weighted(term)

    few = weighed(lambda p: p.glycol - GLYCOL * (p.glycol + p.water))
    wet = weighed(lambda p: LEAST_WATER - p.water)
    return [Piece(few, None, ZERO, "glycols", None), Piece(wet, None, ZERO, "water", None)]
