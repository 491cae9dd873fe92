"""Numbers that a reading may teach: how they spread, and which reading would settle each."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.ingredient import Figure
from optimiser.domain.learned import TAUGHT

CONFIDENCE = 1.959964
"""Standard errors to either side of a 95 % interval."""
DIGITS = 4


@dataclass(frozen=True, slots=True, order=True)
class Cause:
    """A number of an ingredient's lot; without an ingredient, what shares in composition.csv leave open."""

    ingredient: str
    lot: str = ""
    property: str = ""


SHARES = Cause("")


@dataclass(frozen=True, slots=True)
class Way:
    """`by_factor`: it is spread by a factor, else up and down. `usual` is the half width where the table has
    no spread. `told` and `settled` are words with the ingredient's name to be filled in."""

    by_factor: bool
    usual: float
    told: str
    settled: str


SERIES = "a series of emulsifier blends with {} alone as the oil"
ALONE_PH = "the pH of {} alone in water, at two doses of acid"
ALONE_THICK = "the thickness of {} alone in water, with its shear"
WAYS: Mapping[str, Way] = {
    "buffer_slope": Way(True, 3, TAUGHT["buffer_slope"], ALONE_PH),
    "powder_ph": Way(False, 1, TAUGHT["powder_ph"], ALONE_PH),
    "viscosity_1pct": Way(True, 1.5, TAUGHT["viscosity_1pct"], ALONE_THICK),
    "viscosity_power": Way(
        False, 0.5, TAUGHT["viscosity_power"], "the thickness of {} alone in water at a second dose"
    ),
    "water_held": Way(True, 2, TAUGHT["water_held"], ALONE_THICK),
    "packing_max": Way(False, 0.08, TAUGHT["packing_max"], ALONE_THICK),
    "density": Way(True, 1.01, TAUGHT["density"], "the weight of a known volume of {} alone"),
    "hlb_needed": Way(False, 2, TAUGHT["hlb_needed"], SERIES),
    "solids": Way(False, 1, TAUGHT["solids"], "the loss on drying of {} alone"),
    "water_content": Way(False, 1, TAUGHT["water_content"], "the water of {} alone"),
}
"""Usual widths: common practice; slopes of clays within a factor of 3 and strengths within 1.5 of a grade."""
NOT_KNOWN = "not known"
UNKNOWN: Mapping[str, Figure] = {
    "hlb_needed": Figure(Fraction(10), Fraction(2), Fraction(18), "-", NOT_KNOWN, "assumed"),
}
"""Where a number may start from that the table does not have: all that it can be."""


@dataclass(frozen=True, slots=True)
class Prior:
    """Middle and standard error on the scale of its way; `value` turns a place on it back into the number."""

    way: Way
    middle: float
    error: float

    def value(self, at: float) -> float:
        here = self.middle + self.error * at
        return math.exp(here) if self.way.by_factor else here

    def ends(self, at: float, error: float) -> tuple[Fraction, Fraction, Fraction]:
        """(value, low, high) of a 95 % interval, to four figures; `error` in units of the prior's."""
        middle, low, high = (
            Fraction(f"{self.value(at + by * CONFIDENCE * error):.{DIGITS}g}") for by in (0, -1, 1)
        )
        return middle, low, high


def prior_of(name: str, figure: Figure) -> Prior | None:
    """The table's range as a 95 % interval about its middle; None for what is so by nature."""
    way = WAYS.get(name)
    if way is None or figure.status == "by nature" or (way.by_factor and figure.value <= 0):
        return None
    low, value, high = float(figure.low), float(figure.value), float(figure.high)
    if way.by_factor:
        low = low or value**2 / high
        middle, half = math.log(value), math.log(high / low) / 2
        return Prior(way, middle, (half or math.log(way.usual)) / CONFIDENCE)
    return Prior(way, value, ((high - low) / 2 or way.usual) / CONFIDENCE)
