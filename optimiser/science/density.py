"""Density and volume: the volumes of the ingredients add up, and air may be stirred in."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.powers import ZERO

MODEL = Model(
    "density",
    (
        "volumes that add up: general physics",
        "Bosart & Snoddy 1928, Ind. Eng. Chem. 20:1377 (glycerol and water: 1.13 % off at most)",
    ),
    "liquids, oils and wetted powders; the density of a powder is that of its grains",
    "contraction of glycols and ethanol with water (0.5 % at 20 %, 1.1 % at 60 % glycerol); salts, which "
    "take less room dissolved than dry; air, which outweighs both",
    Band(Fraction("0.08"), Fraction("0.02")),
    "a cup of known volume, weighed full",
)


def volume(lines: Iterable[tuple[Fraction, Fraction]]) -> Fraction:
    """ml of (grams, density in g/ml), without air."""
    return sum((grams / density for grams, density in lines), start=ZERO)


def density(lines: Iterable[tuple[Fraction, Fraction]], air: Fraction = ZERO) -> Fraction:
    """g/ml of (grams, density), with a share of the finished volume that is air (0 to below 1)."""
    lines = tuple(lines)
    return sum((grams for grams, _ in lines), start=ZERO) / volume(lines) * (1 - air)


def grams_for(ml: Fraction, filled: Fraction) -> Fraction:
    """Grams that fill so many ml at a density in g/ml."""
    return ml * filled


def row_term(own: Fraction, limit: Fraction) -> Fraction:
    """Per gram of an ingredient of density `own`: Σ x · term ≥ 0 is "at least `limit`", ≤ 0 "at most"."""
    return 1 - limit / own


def air_from_cup(net: Fraction, ml: Fraction, without_air: Fraction) -> Fraction:
    """Share of the volume that is air, from the net grams in a cup. Negative: the data are off."""
    return 1 - net / ml / without_air
