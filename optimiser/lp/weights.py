"""Coefficients of one gram of an ingredient in a rule.

`side` "high" is the coefficient for an upper limit, "low" for a lower one: what is not known counts in full
against an upper limit and not at all for a lower one.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.selector import AnyOf, Pick, Selector, matches

Side = Literal["low", "high"]
ZERO, ONE = Fraction(0), Fraction(1)


def part_of(selector: Selector, ingredient: Ingredient, side: Side) -> Fraction:
    """Part of the ingredient (0 to 1) that the selector counts."""
    if isinstance(selector, Pick) and selector.field == "substance":
        return _substance_part(ingredient, selector.name, side)
    if isinstance(selector, AnyOf):
        return max((part_of(pick, ingredient, side) for pick in selector.picks), default=ZERO)
    answer = matches(selector, ingredient)
    if answer is None:
        return ONE if side == "high" else ZERO
    return ONE if answer else ZERO


def _substance_part(ingredient: Ingredient, substance: str, side: Side) -> Fraction:
    wanted = substance.casefold()
    parts = [p for p in ingredient.composition or () if p.substance.casefold() == wanted]
    if parts:
        return sum(((p.high if side == "high" else p.low) for p in parts), ZERO) / 100
    if wanted == ingredient.inci.casefold() or (ingredient.composition is None and side == "high"):
        return ONE
    return ZERO


def figure_for(figure: Figure, side: Side, *, at_worst: bool, lenient: bool) -> Fraction:
    """The figure's value, its worst end under the limit, or (lenient, when it is unsure) its best end."""
    if lenient and not figure.sure:
        return figure.low if side == "high" else figure.high
    if at_worst:
        return figure.high if side == "high" else figure.low
    return figure.value


def legal_factor(ingredient: Ingredient, factors: Mapping[str, Fraction]) -> Fraction:
    """Grams counted by the law in one gram of the ingredient, at the highest content.

    `factors` by substance, in lower case.
    """
    parts = ingredient.composition or ()
    own = ingredient.inci.casefold()
    if own in factors and all(p.substance.casefold() != own for p in parts):
        return factors[own]
    return sum((p.high * factors.get(p.substance.casefold(), ZERO) for p in parts), ZERO) / 100
