"""How much of a formula is of natural origin: a mean by weight of what each ingredient counts."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.powers import ZERO

MODEL = Model(
    "natural origin",
    ("ISO 16128-1 and 16128-2 as summed up by liveclean.ca (ISO guidelines page); the standard not read",),
    "indices as the seller states them, for the formula with its water, which counts as natural",
    "indices that are themselves rounded or reckoned by another rule",
    Band(ZERO, ZERO),
    "the seller's paper on each ingredient",
)
HALF = Fraction(1, 2)


def index(stated: Fraction) -> Fraction:
    """What a single derived material of so large a natural share (0 to 1) counts: none at half or below."""
    return ZERO if stated <= HALF else stated


def content(lines: Iterable[tuple[Fraction, Fraction]]) -> Fraction:
    """Share of natural origin (0 to 1) of (grams, index of each)."""
    lines = tuple(lines)
    return sum((grams * own for grams, own in lines), ZERO) / sum((grams for grams, _ in lines), ZERO)
