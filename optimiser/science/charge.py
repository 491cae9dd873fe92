"""What one gram of an ingredient brings to the charge balance of the water phase.

All amounts are in mmol per gram of the ingredient (mol/kg), pH-dependent parts as acids and powders, the rest
as ions that never change. The powder's line: q = slope (own pH - pH), in meq/g, positive where it has
taken up acid. Its charge is balanced at its surface and does not count towards the ionic strength.
A substance whose share in the ingredient is known from-to counts at its middle and carries a `Spread`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

End = Literal["low", "middle", "high"]
"""Which end of powders' data and of shares: "low" brings the least charge at any pH, so the lowest pH."""
PLACE: dict[End, int] = {"low": 0, "middle": 1, "high": 2}


@dataclass(frozen=True, slots=True)
class Ion:
    """A strong ion; `amount` in mmol/g."""

    name: str
    charge: int
    amount: Fraction


@dataclass(frozen=True, slots=True)
class Acid:
    """An acid, or a base as the acid it becomes: `pka` at 25 C and zero ionic strength, strongest first.

    `amount` (mmol/g) counts all its forms together; `protonated` is the charge with every proton on. `off` is
    how far, in pH, the constants may lie from those given.
    """

    substance: str
    amount: Fraction
    pka: tuple[Fraction, ...]
    protonated: int
    off: Fraction = Fraction(0)

    @property
    def charges(self) -> tuple[int, ...]:
        """The charge of each form, protons going one by one."""
        return tuple(self.protonated - lost for lost in range(len(self.pka) + 1))


@dataclass(frozen=True, slots=True)
class Buffer:
    """A powder as a line; `slope` (meq/g per pH) and `own_ph` as (low, middle, high)."""

    slope: tuple[Fraction, Fraction, Fraction]
    own_ph: tuple[Fraction, Fraction, Fraction]

    def line(self, ph: float, end: End = "middle") -> tuple[float, float]:
        """(charge in meq/g, slope in meq/g per pH) at a pH, by one end of the data."""
        return self.ready().at(ph, end)

    def ready(self) -> Line:
        """The same line as floats, for sums that ask it often."""
        slope, own_ph = tuple(map(float, self.slope)), tuple(map(float, self.own_ph))
        return Line((slope[0], slope[1], slope[2]), (own_ph[0], own_ph[1], own_ph[2]))


@dataclass(frozen=True, slots=True)
class Line:
    """A powder's line as floats: `slope` (meq/g per pH) and `own_ph` as (low, middle, high)."""

    slope: tuple[float, float, float]
    own_ph: tuple[float, float, float]

    def at(self, ph: float, end: End = "middle") -> tuple[float, float]:
        """(charge in meq/g, slope in meq/g per pH) at a pH, by one end of the data.

        Charge is monotone in the own pH, and in the slope on either side of it, so the extremes over the
        whole range are at two corners: the outer own pH with the slope that pulls that way.
        """
        low, middle, high = self.slope
        ahead = self.own_ph[PLACE[end]] - ph
        outer = low if (ahead > 0) == (end == "low") else high
        slope = middle if end == "middle" else outer
        return slope * ahead, slope


@dataclass(frozen=True, slots=True)
class Spread:
    """How far the share of one substance may lie from its middle: `below` <= 0 <= `above`, in g/g.

    `strong` is the net charge of the strong ions of one gram of the substance, `squares` their sum of amount
    times charge squared (both in mmol/g), `acids` what else it brings (mmol/g of the substance).
    """

    below: Fraction
    above: Fraction
    strong: Fraction
    squares: Fraction
    acids: tuple[Acid, ...]


def seen_at(ph: float, off: float, end: End) -> float:
    """Where an acid has the charge it has at `ph` with its constants at one end (lowest: least charge)."""
    return ph if end == "middle" else ph + off if end == "low" else ph - off


def reach_of_share(charge: float, below: float, above: float, end: End) -> float:
    """By how much of the substance its share moves at one end, where one gram of it brings this charge."""
    if end == "middle":
        return 0.0
    return below if (charge > 0) == (end == "low") else above


@dataclass(frozen=True, slots=True)
class ChargeProfile:
    """One gram of an ingredient: ions, acids and powders, and its shares of water and of glycols (g/g).

    `carbonate`: how pH comes out depends on whether carbon dioxide stays in the jar. `as_neutral` are the
    substances that no table lists and no name betrays as acid, base or salt: they count as nothing.
    `turning` are those that turn into an acid over hours. `spreads` are the shares known from-to; those of
    water and of glycols count at their middle.
    """

    ions: tuple[Ion, ...] = ()
    acids: tuple[Acid, ...] = ()
    buffers: tuple[Buffer, ...] = ()
    spreads: tuple[Spread, ...] = ()
    water: Fraction = Fraction(0)
    glycol: Fraction = Fraction(0)
    carbonate: bool = False
    as_neutral: tuple[str, ...] = ()
    turning: tuple[str, ...] = ()

    @property
    def strong_charge(self) -> Fraction:
        """Net charge of the strong ions, mmol/g."""
        return sum((ion.charge * ion.amount for ion in self.ions), Fraction(0))

    @property
    def strong_squares(self) -> Fraction:
        """Sum of amount times charge squared over the strong ions, mmol/g."""
        return sum((ion.charge**2 * ion.amount for ion in self.ions), Fraction(0))


@dataclass(frozen=True, slots=True)
class Unknown:
    """Why the charge of an ingredient cannot be told."""

    reason: str
