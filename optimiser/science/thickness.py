"""Thickness of a water phase: a power law per gum, mixed by equivalents.

η = K · cⁿ at a fixed shear, c in grams of gum per 100 g of the water phase, η in Pa.s. The concentration that
gives η alone is c*(η) = (η / K)^(1/n). Gums together: Σ c / c*(η) = 1 defines η, which is exact for one gum.
So "η at least η*" is the row Σ x · 100 / c*(η*) ≥ water phase, and a ceiling is its mirror image.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.science.about import Model, factor
from optimiser.science.powers import (
    ONE,
    ZERO,
    Towards,
    exp,
    fixed,
    ln,
    opposite,
    power,
    ten_to,
    where_it_falls_to,
)

MODEL = Model(
    "thickness of the water phase",
    (
        "power law in concentration and shear (Ostwald & de Waele): general rheology",
        "konjac 0.10 to 0.20 %: Gong et al. 2003, Food Science (Beijing) 24(4):23",
        "xanthan 1 % in 1 % KCl, 1400 to 1800 mPa.s, shear ratio 6.0 and more: food-grade specification",
        "equivalents between gums: additive rule, assumed",
    ),
    "hydrated gums above their overlap concentration, within about a tenfold of the thickness they were read "
    "at, one class of polymer, one shear rate, 20 to 25 C",
    "xanthan beside galactomannans or konjac (thicker than the sum: a floor holds, a ceiling may not), "
    "gelling gums with their ions, carbomers in salt or outside their pH, below the overlap concentration",
    factor(Fraction(3)),
    "one thickness at one shear gives K, two concentrations give K and n; keep grade and shear with it",
)
WITHIN_ONE_GRADE = factor(Fraction(3, 2))
HAIR = Fraction(1, 10**9)

SYNERGIES: tuple[tuple[frozenset[str], frozenset[str], str], ...] = (
    (
        frozenset({"Xanthan Gum"}),
        frozenset(
            {
                "Cyamopsis Tetragonoloba Gum",
                "Hydroxypropyl Guar",
                "Ceratonia Siliqua Gum",
                "Caesalpinia Spinosa Gum",
                "Amorphophallus Konjac Root Powder",
            }
        ),
        "thicker together than the sum",
    ),
    (
        frozenset({"Carrageenan"}),
        frozenset({"Ceratonia Siliqua Gum", "Amorphophallus Konjac Root Powder"}),
        "set to a gel together",
    ),
)


@dataclass(frozen=True, slots=True)
class Gum:
    """`at_one`: Pa.s of 1 % in water at 1/s; `power`: exponent of concentration; `flow`: exponent of stress
    against shear (1: the same at any shear)."""

    at_one: Fraction
    power: Fraction
    flow: Fraction = ONE


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What takes a thickener's body: salt (% as sodium chloride in the water that halves it) and pH."""

    salt_half: Fraction | None = None
    ph_from: Fraction | None = None
    ph_to: Fraction | None = None


def viscosity(gum: Gum, percent: Fraction, shear: Fraction = ONE, towards: Towards = "near") -> Fraction:
    """Pa.s of one gum at `percent` of the water phase and `shear` per second."""
    body = gum.at_one * power(percent, gum.power, towards)
    return body if shear == 1 else body * power(shear, gum.flow - 1, towards)


def dose_for(gum: Gum, eta: Fraction, shear: Fraction = ONE, towards: Towards = "near") -> Fraction:
    """Percent of the water phase at which one gum alone gives `eta` Pa.s."""
    at_shear = gum.at_one
    if shear != 1:
        at_shear = at_shear * power(shear, gum.flow - 1, opposite(towards))
    return power(eta / at_shear, 1 / gum.power, towards)


def equivalent(percent: Fraction, of: Gum, by: Gum, shear: Fraction = ONE) -> Fraction:
    """Percent of `by` that gives what `percent` of `of` gives, in the same water phase at the same shear."""
    return dose_for(by, viscosity(of, percent, shear), shear)


def mixture_viscosity(gums: Sequence[tuple[Gum, Fraction]], shear: Fraction = ONE) -> Fraction:
    """Pa.s of (gum, percent of the water phase) together; 0 without any, water itself being left out."""
    there = [(gum, percent) for gum, percent in gums if percent > 0]
    if not there:
        return ZERO
    if len(there) == 1:
        return viscosity(*there[0], shear)
    low = max(viscosity(gum, percent, shear, "down") for gum, percent in there)
    high = max(viscosity(gum, percent * len(there), shear, "up") for gum, percent in there)
    start, end = ln(low, "down") - HAIR, ln(high, "up") + HAIR
    return exp(where_it_falls_to(ONE, lambda at: fill(there, exp(at), shear), start, end))


def fill(gums: Sequence[tuple[Gum, Fraction]], eta: Fraction, shear: Fraction = ONE) -> Fraction:
    """Σ c / c*(η): 1 at the thickness of the mixture, more where it is thicker than `eta`."""
    return sum((percent / dose_for(gum, eta, shear) for gum, percent in gums), start=ZERO)


def row_term(
    gum: Gum | None, phase: Fraction, eta: Fraction, shear: Fraction = ONE, towards: Towards = "near"
) -> Fraction:
    """Per gram: Σ x · term ≥ 0 is "at least eta", ≤ 0 is "at most eta".

    `phase` is the share of the ingredient that belongs to the water phase. `towards` "down" makes a floor
    enough (and a ceiling needed), "up" the other way. Divide `eta` first by what glycerol and powders give.
    """
    if gum is None:
        return -phase
    return fixed(100 / dose_for(gum, eta, shear, opposite(towards)), towards) - phase


def synergies(names: Collection[str]) -> tuple[tuple[str, str, str], ...]:
    """Pairs of INCI names that do more than the sum, each with what they do, in order."""
    return tuple(
        (first, second, what)
        for left, right, what in SYNERGIES
        for first in sorted(left.intersection(names))
        for second in sorted(right.intersection(names))
    )


def under(gum: Gum, touchy: Sensitivity, *, ph: Fraction | None, salt: Fraction) -> Gum | None:
    """The gum in salt (% as sodium chloride in the water) at a pH; None where it cannot be predicted.

    The salt law K / (1 + salt / half) is an assumption of order of magnitude: read it on your own batch.
    """
    if touchy.ph_from is not None and (ph is None or ph < touchy.ph_from):
        return None
    if touchy.ph_to is not None and (ph is None or ph > touchy.ph_to):
        return None
    if touchy.salt_half is None:
        return gum
    return Gum(gum.at_one / (1 + salt / touchy.salt_half), gum.power, gum.flow)


def neutralised(ph: Fraction, pka: Fraction = Fraction(6), slope: Fraction = Fraction(1, 2)) -> Fraction:
    """Share of a carbomer's acid that is neutralised. Apparent pKa 6.0 (5.5 to 6.5), slope 0.5: memory."""
    return 1 / (1 + ten_to(slope * (pka - ph)))


def neutraliser_terms(
    acid: Fraction, base: Fraction, between: tuple[Fraction, Fraction] = (Fraction(1, 2), Fraction(9, 10))
) -> tuple[Fraction, Fraction]:
    """Per gram, in meq: Σ x · first ≥ 0 is enough base for a carbomer, Σ x · second ≤ 0 not too much."""
    least, most = between
    return base - least * acid, base - most * acid


def strength_from_reading(eta: Fraction, percent: Fraction, exponent: Fraction) -> Fraction:
    """K (Pa.s at 1 %) from one thickness, read at the shear K is meant for."""
    return eta / power(percent, exponent)


def law_from_readings(
    first: tuple[Fraction, Fraction], second: tuple[Fraction, Fraction]
) -> tuple[Fraction, Fraction]:
    """K and n from two (percent, Pa.s) of one gum at one shear."""
    (c1, eta1), (c2, eta2) = first, second
    exponent = fixed(ln(eta2 / eta1) / ln(c2 / c1))
    return strength_from_reading(eta1, c1, exponent), exponent


def flow_from_shear_ratio(ratio: Fraction, times: Fraction = Fraction(10)) -> Fraction:
    """Flow index from how many times thicker it is at one shear than at `times` that shear."""
    return fixed(1 - ln(ratio) / ln(times))
