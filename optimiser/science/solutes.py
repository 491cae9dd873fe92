"""What of an ingredient is dissolved in water, for water activity and freezing: humectants and sugars.

Counted are parts whose molar mass is known and whose ingredient has a Norrish constant. What else is
dissolved (a little acid, salt, extract) lowers the water activity further and is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.substance import Substance
from optimiser.science.charge import Unknown
from optimiser.science.constants import End, reading
from optimiser.science.water_activity import Solute

ZERO, ONE = Fraction(0), Fraction(1)
WATER = "aqua"
Dissolved = tuple[tuple[Solute, Fraction], ...]


def known_solutes(
    ingredients: Iterable[Ingredient], substances: Mapping[str, Substance], end: End = "value"
) -> dict[str, Solute]:
    """By INCI name in lower case: molar mass (g/mol) and Norrish constant at one end of the data."""
    found: dict[str, Solute] = {}
    for one in sorted(ingredients, key=lambda i: i.id):
        k, main = reading(one, "norrish_k", end), _main(one)
        substance = substances.get(main)
        if k is not None and substance is not None and substance.molar_mass:
            found.setdefault(main, Solute(substance.molar_mass, k))
    return found


def _main(one: Ingredient) -> str:
    """The largest part that is no water."""
    parts = [part for part in one.composition or () if part.substance.casefold() != WATER]
    largest = max(parts, key=lambda part: (part.value, part.substance), default=None)
    return largest.substance.casefold() if largest is not None else ""


def dissolved_in(one: Ingredient, solutes: Mapping[str, Solute]) -> Dissolved:
    """(solute, grams in one gram) of the ingredient."""
    return tuple(
        (solutes[name], part.value / 100)
        for part in one.composition or ()
        if (name := part.substance.casefold()) in solutes and part.value
    )


def water_in(one: Ingredient) -> Fraction | Unknown:
    """Grams of water in one gram."""
    water = reading(one, "water_content")
    return Unknown("its water content is not known") if water is None else water / 100
