"""Water activity and freezing point of the water phase.

One solute (Norrish): a = Xw · exp(-K · Xs²). Solutes together (Zdanovskii, Stokes & Robinson):
Σ m / m⁰(a) = 1, where m⁰(a) is the molality at which the solute alone gives a. At a fixed a this is one exact
row: Σ n / m⁰(a) ≥ kg of water. A solute without a K counts as ideal (Raoult), which reads too high,
so a ceiling written with it asks for more humectant than needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import localcontext
from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.powers import (
    FINE,
    FINE_ENOUGH,
    ONE,
    STEPS,
    ZERO,
    Towards,
    as_decimal,
    exp,
    fixed,
    opposite,
    where_it_falls_to,
)

MODEL = Model(
    "water activity",
    (
        "Norrish 1966, J. Food Technol. 1:25; form as in Baeza et al. 2010; K from memory of compilations",
        "Stokes & Robinson 1966, J. Phys. Chem. 70:2126 (solutes together; cited from memory)",
    ),
    "polyols, sugars, acids and dissolved salts at 20 to 25 C, water activity above 0.75",
    "below 0.7; solutes that are not dissolved; water bound by clay and gum, which is left out and lowers it "
    "a little further",
    Band(Fraction("0.005"), Fraction("0.005"), relative=False),
    "one reading multiplies every m⁰ by the same number",
)
IDEAL_BAND = Band(Fraction("0.04"), Fraction("0.005"), relative=False)
FREEZING_BAND = Band(Fraction("0.5"), Fraction("0.5"), relative=False)
WATER_MOLAR = Fraction("18.0153")
WATER_PER_KG = 1000 / WATER_MOLAR
CRYOSCOPIC = Fraction("1.858")
LOWEST = Fraction("0.3")
_LEAST_SHARE = Fraction(1, 10**12)
_FAINT = Fraction(1, 10**6)
"""So near to pure water the first two terms are nearer than values rounded to 15 digits."""


@dataclass(frozen=True, slots=True)
class Solute:
    """g/mol, Norrish K (None: ideal), and particles per molecule times osmotic coefficient."""

    molar_mass: Fraction
    norrish: Fraction | None = None
    particles: Fraction = ONE


def one_solute(share: Fraction, norrish: Fraction, towards: Towards = "near") -> Fraction:
    """Water activity at a mole share of one solute (Norrish)."""
    return fixed((1 - share) * exp(-norrish * share * share, towards), towards)


def several_solutes(parts: Sequence[tuple[Solute, Fraction]], water: Fraction) -> Fraction:
    """Water activity of (solute, mol) in mol of water by the Norrish formula with K averaged by mol:
    a = Xw · exp(-K · Xs²). For comparison with the rule above."""
    dissolved = sum((n * solute.particles for solute, n in parts), start=ZERO)
    if not dissolved:
        return ONE
    mean = sum((n * s.particles * (s.norrish or ZERO) for s, n in parts), start=ZERO) / dissolved
    return one_solute(dissolved / (water + dissolved), mean)


def alone(activity: Fraction, solute: Solute, towards: Towards = "near") -> Fraction:
    """m⁰: mol of the solute per kg of water that alone give this water activity (above 0.3, below 1)."""
    if not LOWEST <= activity < 1:
        raise ValueError(f"a water activity of {activity}")
    k, missing = solute.norrish, 1 - activity
    if not k:
        share = missing
    elif missing < _FAINT:
        share = missing - k * missing * missing
    else:
        share = _share_alone(activity, k)
    return fixed(share / (1 - share) * WATER_PER_KG / solute.particles, towards)


def _share_alone(activity: Fraction, k: Fraction) -> Fraction:
    """Mole share at which one solute gives this water activity, by Newton on ln a = ln(1 - x) - K x².

    From x = 1 - a the steps only ever go down, for the curve bends down all the way (K at least 0).
    """
    if k < 0:
        raise ValueError(f"a Norrish K of {k}")
    with localcontext(FINE):
        bend, share = as_decimal(k), 1 - as_decimal(activity)
        goal = as_decimal(activity).ln()
        for _ in range(STEPS):
            here = (1 - share).ln() - bend * share * share - goal
            step = here / (1 / (1 - share) + 2 * bend * share)
            share += step
            if abs(step) <= share * FINE_ENOUGH:
                break
    return fixed(Fraction(share))


def row_term(
    solutes: Iterable[tuple[Solute, Fraction]],
    water: Fraction,
    activity: Fraction,
    towards: Towards = "near",
) -> Fraction:
    """Per gram of an ingredient that is `water` parts water and parts of solutes: Σ x · term ≥ 0 is
    "water activity at most `activity`", ≤ 0 "at least". `towards` "down" makes a ceiling enough."""
    held = sum(
        (share / solute.molar_mass / alone(activity, solute, opposite(towards)) for solute, share in solutes),
        start=ZERO,
    )
    return fixed(held, towards) - water / 1000


def water_activity(solutes: Sequence[tuple[Solute, Fraction]], water: Fraction) -> Fraction | None:
    """Water activity of grams of solutes in grams of water; None without water or below 0.3."""
    there = [(solute, grams) for solute, grams in solutes if grams > 0]
    if water <= 0:
        return None
    if not there:
        return ONE
    high = 1 - _LEAST_SHARE
    if fill(there, water, LOWEST) > 1:
        return None
    if fill(there, water, high) < 1:
        return ONE
    return where_it_falls_to(ONE, lambda a: 1 / fill(there, water, a), LOWEST, high)


def fill(solutes: Sequence[tuple[Solute, Fraction]], water: Fraction, activity: Fraction) -> Fraction:
    """Σ m / m⁰(a): 1 at the water activity of the mixture, more where it is lower than `activity`."""
    return sum(
        (grams / s.molar_mass / (water / 1000) / alone(activity, s) for s, grams in solutes), start=ZERO
    )


def strength_from_reading(
    solutes: Sequence[tuple[Solute, Fraction]], water: Fraction, read: Fraction
) -> Fraction:
    """What to multiply every m⁰ by so that the reading comes out."""
    return fill(solutes, water, read)


def osmolality(solutes: Iterable[tuple[Solute, Fraction]], water: Fraction) -> Fraction:
    """mol of particles per kg of water, for grams of solutes in grams of water."""
    return sum((grams / s.molar_mass * s.particles for s, grams in solutes), start=ZERO) / (water / 1000)


def freezing_point(solutes: Iterable[tuple[Solute, Fraction]], water: Fraction) -> Fraction:
    """°C at which ice begins to form: ideal, so up to 0.5 K too high at 20 % of a polyol, 1.1 K at 30 %."""
    return -CRYOSCOPIC * osmolality(solutes, water)


def freezing_term(solutes: Iterable[tuple[Solute, Fraction]], water: Fraction, celsius: Fraction) -> Fraction:
    """Per gram: Σ x · term ≥ 0 is "no ice above `celsius`" (a number below 0)."""
    held = sum((share / s.molar_mass * s.particles for s, share in solutes), start=ZERO)
    return CRYOSCOPIC * held + celsius * water / 1000
