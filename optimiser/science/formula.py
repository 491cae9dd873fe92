"""Charge profiles of a formula's ingredients: which bring ions, which buffer as powders, which stay out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.substance import Substance
from optimiser.science.charge import ChargeProfile, Unknown
from optimiser.science.profiles import profile_of
from optimiser.science.salts import SOAP, holds_soap

POWDERS = frozenset({"clay", "mineral-powder", "flour", "starch", "charcoal"})
"""Groups that take up acid: without a buffer line their charge is not known."""
OUTSIDE = frozenset({
    "oil", "butter", "wax", "ester", "fatty-alcohol", "fatty-acid", "scent", "pigment", "scrub-grain",
    "antioxidant", "emulsifier",
})  # fmt: skip
"""Groups that stay out of the water phase, or bring it nothing that counts."""


def profiles_for(
    ingredients: Iterable[Ingredient], substances: Mapping[str, Substance]
) -> dict[str, ChargeProfile | Unknown]:
    """Profile of one gram of each, by id; `substances` by name in lower case."""
    return {one.id: profile_for(one, substances) for one in ingredients}


FATTY_ACID, ALKALI = "fatty-acid", "alkali"
TURNS_TO_SOAP = "Fatty acid beside alkali turns to soap, which the prediction does not hold"


def turns_to_soap(ingredients: Iterable[Ingredient]) -> bool:
    """Fatty acid beside alkali: the charge balance does not hold what they make."""
    return {FATTY_ACID, ALKALI} <= {one.group for one in ingredients}


def profile_for(ingredient: Ingredient, substances: Mapping[str, Substance]) -> ChargeProfile | Unknown:
    if ingredient.composition is None and holds_soap(ingredient.inci):
        return Unknown(f"{ingredient.inci}: {SOAP}")
    return profile_of(
        ingredient.composition,
        substances,
        ingredient.figures,
        powder=ingredient.group in POWDERS,
        inert=ingredient.group in OUTSIDE,
    )
