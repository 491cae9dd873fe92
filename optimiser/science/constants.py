"""From the figures of an ingredient to the constants of the models. What is not known stays None."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.substance import Substance
from optimiser.science.powers import ZERO
from optimiser.science.preservation import Claim, Preservative
from optimiser.science.salts import listed_salt
from optimiser.science.suspension import Powder, solid_volume
from optimiser.science.thickness import Gum, Sensitivity
from optimiser.science.water_activity import Solute

End = Literal["low", "value", "high"]
OILS = frozenset({"oil", "butter", "wax", "ester", "fatty-alcohol", "fatty-acid", "scent"})
SOLVENTS = frozenset({"polyol"})
MIXES_WITH_WATER = SOLVENTS | {"alcohol"}
"""Groups that are part of the water a preservative spreads in: less water by them thickens no dose."""


def reading(ingredient: Ingredient, name: str, end: End = "value") -> Fraction | None:
    """One end of a figure; None where it is not known."""
    figure = ingredient.figure(name)
    if figure is None:
        return None
    found: Fraction = getattr(figure, end)
    return found


def gum(ingredient: Ingredient, end: End = "value") -> Gum | None:
    """The power law; `end` speaks of its strength, exponents stay at their middle."""
    at_one, power = reading(ingredient, "viscosity_1pct", end), reading(ingredient, "viscosity_power")
    if at_one is None or power is None:
        return None
    flow = reading(ingredient, "flow_index")
    return Gum(at_one, power) if flow is None else Gum(at_one, power, flow)


def sensitivity(ingredient: Ingredient) -> Sensitivity:
    """What takes its body; what is not stated takes nothing."""
    return Sensitivity(
        reading(ingredient, "salt_half"),
        reading(ingredient, "body_ph_min"),
        reading(ingredient, "body_ph_max"),
    )


def water_phase(ingredient: Ingredient) -> Fraction | None:
    """Share that belongs to the water phase of the thickness law: its water, and all of a polyol."""
    if ingredient.group in SOLVENTS:
        return Fraction(1)
    water = reading(ingredient, "water_content")
    return None if water is None else water / 100


def powder(ingredient: Ingredient) -> Powder | None:
    """How it packs."""
    packing, shape = reading(ingredient, "packing_max"), reading(ingredient, "shape_factor")
    return None if packing is None or shape is None else Powder(packing, shape)


def volumes(ingredient: Ingredient, end: End = "value") -> tuple[Fraction, Fraction] | None:
    """ml per gram: of the grains with the water they hold (0 for what is no powder), and of the whole."""
    density = reading(ingredient, "density")
    if density is None:
        return None
    if powder(ingredient) is None:
        return ZERO, 1 / density
    held = reading(ingredient, "water_held", end)
    return None if held is None else (solid_volume(density, held), 1 / density)


def claim(ingredient: Ingredient, end: End = "value") -> Claim | None:
    """What one gram draws on, water at 1 g/ml; None where its binding or an oil's density is not known."""
    bound, water = reading(ingredient, "preservative_binding", end), reading(ingredient, "water_content")
    if bound is None or water is None:
        return None
    if ingredient.group in MIXES_WITH_WATER:
        return Claim(water=Fraction(1), bound=bound)
    if ingredient.group not in OILS:
        return Claim(water=water / 100, bound=bound)
    density = reading(ingredient, "density")
    return None if density is None else Claim(water / 100, (1 - water / 100) / density, bound)


def preservative(
    ingredient: Ingredient, group: str, pka: Fraction | None, end: End = "value"
) -> Preservative | None:
    """Constants against bacteria, yeast or mould; at the "high" end it asks for most and dissolves least."""
    least, k_oil = reading(ingredient, f"free_dose_{group}", end), reading(ingredient, "oil_partition", end)
    if least is None or k_oil is None or not least:
        return None
    other: End = "low" if end == "high" else "high" if end == "low" else "value"
    dissolves = reading(ingredient, "solubility" if pka is None else "acid_solubility", other)
    return Preservative(least / 100, pka, k_oil, None if dissolves is None else dissolves / 100)


def solute(ingredient: Ingredient, molar_mass: Fraction, particles: Fraction = Fraction(1)) -> Solute:
    """Its dissolved part, ideal where no Norrish constant is known."""
    return Solute(molar_mass, reading(ingredient, "norrish_k"), particles)


def free_preservative(
    ingredient: Ingredient,
    group: str,
    substances: Mapping[str, Substance],
    bound: End,
    least: End,
    oil: Fraction | None = None,
) -> Preservative | None:
    """The ingredient as a preservative against a group, counted in grams of the ingredient as bought.

    None where its least free dose, the constant of its acid, or its ratio between oil and water is not known;
    `oil` stands in for a ratio that is not.
    """
    dose = reading(ingredient, f"free_dose_{group}", least)
    if not dose:
        return None
    pka = acid_constant(ingredient, substances)
    if ingredient.kind == "preservative-acid" and pka is None:
        return None
    ratio = reading(ingredient, "oil_partition", bound)
    ratio = oil if ratio is None else ratio
    return None if ratio is None else Preservative(least=dose / 100, pka=pka, k_oil=ratio)


def acid_constant(ingredient: Ingredient, substances: Mapping[str, Substance]) -> Fraction | None:
    """pKa of the one acid an acid preservative is, or is the salt of."""
    if ingredient.kind != "preservative-acid" or not ingredient.composition:
        return None
    substance = substances.get(ingredient.composition[0].substance.casefold())
    if substance is None:
        return None
    if substance.pka and not substance.counter_ion:
        return substance.pka[0]
    salt = listed_salt(substance, substances)
    return salt.acid.pka[0] if salt is not None and salt.acid.pka else None
