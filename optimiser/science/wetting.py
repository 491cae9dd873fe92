"""What one gram brings of liquid, and what it drinks, in a watery product or in one of oil."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.science.body import GRAINS
from optimiser.science.charge import Unknown
from optimiser.science.constants import water_phase
from optimiser.science.powers import ONE, ZERO

LIQUID_OILS = frozenset({"oil", "ester"})


def liquid_of(ingredient: Ingredient, oily: bool) -> Fraction | Unknown:
    """Grams of liquid in a gram: water and polyols, or in a product of oil its liquid oils."""
    if oily:
        return ONE if ingredient.group in LIQUID_OILS else ZERO
    found = water_phase(ingredient)
    return Unknown("its water content is not known") if found is None else found


def uptake_of(ingredient: Ingredient, oily: bool) -> Figure | Unknown | None:
    """Grams of liquid a gram drinks; None for what is no powder and has no number."""
    name = "oil_uptake" if oily else "water_uptake"
    figure = ingredient.figure(name)
    if figure is None and ingredient.group in GRAINS:
        return Unknown(f"how much it drinks ({name}) is not known")
    return figure
