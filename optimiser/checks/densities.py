"""Density of a batch, the room it takes and what fills a jar, from the densities of its lines."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.checks.amounts import Amounts
from optimiser.science.density import MODEL, density, grams_for

PLACES = 3
End = Literal["low", "value", "high"]


@dataclass(frozen=True, slots=True)
class Density:
    """Predicted g/ml: without air, and the ends that the data and stirred-in air leave open."""

    value: Fraction
    low: Fraction
    high: Fraction

    def ml(self, grams: Fraction) -> tuple[Fraction, Fraction, Fraction]:
        """Room of so many grams: middle, least, most."""
        return grams / self.value, grams / self.high, grams / self.low

    def grams(self, ml: Fraction) -> tuple[Fraction, Fraction, Fraction]:
        """Weight that fills so many ml: middle, least, most."""
        return grams_for(ml, self.value), grams_for(ml, self.low), grams_for(ml, self.high)


def density_of(amounts: Amounts) -> Density | None:
    """None where a line has no density, or nothing is there."""
    ends = density_ends(amounts)
    return None if ends is None else Density(*(round(end, PLACES) for end in ends))


def density_ends(amounts: Amounts) -> tuple[Fraction, Fraction, Fraction] | None:
    """The same unrounded: middle, least, most."""
    if not amounts.lines or without_density(amounts):
        return None
    low, high = MODEL.band.around(Fraction(1))
    return _at(amounts, "value"), _at(amounts, "low") * low, _at(amounts, "high") * high


def without_density(amounts: Amounts) -> tuple[str, ...]:
    """Names of the lines that have no density, in order of their ids."""
    return tuple(one.name for one in amounts.present if one.figure("density") is None)


def _at(amounts: Amounts, end: End) -> Fraction:
    lines = []
    for slot, share in amounts.lines:
        figure = amounts.ingredients[slot.ingredient].figure("density")
        if figure is not None:
            lines.append((share, getattr(figure, end)))
    return density(lines)
