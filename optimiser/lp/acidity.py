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
Charge = Callable[[Ingredient, ChargeProfile], Fraction]


def acidity(rule: Acidity, scope: Scope) -> Rows:
    """By reading alone: some line to adjust with. Predicted: the charge rows as well."""
    able = [i for i, one in sorted(scope.request.ingredients.items()) if part_of(ADJUSTERS, one, "low")]
    there = Piece({names.used(i): ONE for i in able if i in scope.slots_of}, ONE, None, "adjuster", None)
    if not rule.predicted:
        return Rows((there,))
    profiles = _known(scope)
    acids, alkalis = _sides(rule, profiles)
    pieces = [] if scope.lenient else _capped(rule, scope, profiles)
    for name, foot, top in _levels(rule, scope):
        pieces.append(Piece(_charges(scope, profiles, foot, acids), ZERO, None, f"foot-{name}", None))
        pieces.append(Piece(_charges(scope, profiles, top, alkalis), None, ZERO, f"top-{name}", None))
    return Rows((there, *pieces) if rule.adjusters else tuple(pieces))


def _known(scope: Scope) -> dict[str, ChargeProfile]:
    every = profiles_for(scope.request.ingredients.values(), scope.request.substances)
    return {name: profile for name, profile in every.items() if isinstance(profile, ChargeProfile)}


def _sides(rule: Acidity, profiles: dict[str, ChargeProfile]) -> tuple[frozenset[str], frozenset[str]]:
    """(acids, alkalis) among the dosed lines, by their charge in the middle of the window."""
    middle = (rule.low + rule.high) / 2
    acids = {
        a for a in rule.adjusters if a in profiles and charge_at(profiles[a], middle, Fraction(1, 10)) < 0
    }
    return frozenset(acids), frozenset(set(rule.adjusters) - acids)


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
    def end(ingredient: Ingredient, worst: End, best: End) -> End:
        figure = ingredient.figure("buffer_slope")
        return best if figure is not None and figure.status == "assumed" else worst

    return (
        lambda i, profile: bounds_at(profile, rule.low, high_end=end(i, ends[0], "high"))[1],
        lambda i, profile: bounds_at(profile, rule.high, low_end=end(i, ends[1], "low"))[0],
    )


def _charges(
    scope: Scope, profiles: dict[str, ChargeProfile], charge: Charge, without: frozenset[str]
) -> Coefs:
    def of(ingredient: Ingredient) -> Fraction:
        profile = profiles.get(ingredient.id)
        return ZERO if profile is None or ingredient.id in without else charge(ingredient, profile)

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
