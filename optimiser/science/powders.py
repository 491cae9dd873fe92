"""Liquid that powders drink, and what is left to make a paste of."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.science.about import Band, Model
from optimiser.science.powers import ZERO

MODEL = Model(
    "liquid uptake of powders",
    (
        "oil uptake: ASTM D281 rub-out values, pigment oil-absorption table (sorwarchem 2022)",
        "water uptake: Minerals 2019 9:144 (clays at equal hardness); Shah et al. 2016 (oat flour)",
        "powders together by their sum: assumed",
    ),
    "powders of like grain size, at the point where they hold together as putty",
    "fine powder filling the gaps of a coarse one (drinks less than the sum), swelling clay over hours "
    "(drinks more)",
    Band(Fraction("0.15"), Fraction("0.15")),
    "drop liquid into 20 g of the very blend until it holds together",
)
ANOTHER_GRADE = Band(Fraction(1, 3), Fraction(1, 2))


@dataclass(frozen=True, slots=True)
class Pot:
    """Grams of liquid (water, or oil in a balm), of powder, and of liquid the powders drink."""

    liquid: Fraction
    powder: Fraction
    drunk: Fraction

    @property
    def free(self) -> Fraction:
        return self.liquid - self.drunk


def gather(lines: Iterable[tuple[Fraction, Fraction, Fraction, bool]]) -> Pot:
    """From (grams, liquid share, uptake in g/g, whether it is a powder)."""
    liquid = powder = drunk = ZERO
    for grams, share, uptake, is_powder in lines:
        liquid, drunk = liquid + grams * share, drunk + grams * uptake
        powder += grams if is_powder else ZERO
    return Pot(liquid, powder, drunk)


def free_per_powder(pot: Pot) -> Fraction | None:
    """Grams of free liquid per gram of powder; None without powder; below 0 it is dust."""
    return pot.free / pot.powder if pot.powder else None


def row_term(liquid: Fraction, uptake: Fraction, powder: bool, limit: Fraction) -> Fraction:
    """Per gram: Σ x · term ≥ 0 is "at least `limit` g of free liquid per g of powder", ≤ 0 "at most"."""
    return liquid - uptake - (limit if powder else ZERO)


def state(
    free: Fraction | None, paste_from: Fraction, soup_from: Fraction
) -> Literal["dust", "paste", "soup"]:
    """What it is at that much free liquid per gram of powder."""
    if free is None or free >= soup_from:
        return "soup"
    return "dust" if free < paste_from else "paste"


def uptake_from_reading(liquid: Fraction, powder: Fraction) -> Fraction:
    """g/g from the grams of liquid at the putty point."""
    return liquid / powder
