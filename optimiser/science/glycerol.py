"""Mixtures of glycerol and water: viscosity and density."""

from __future__ import annotations

from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.powers import ONE, exp, fixed, ln, power

MODEL = Model(
    "viscosity of glycerol and water",
    (
        "Cheng 2008, Ind. Eng. Chem. Res. 47:3285 (viscosity)",
        "Volk & Kähler 2018, Exp. Fluids 59:75 (density; from memory, checked against Bosart & Snoddy)",
    ),
    "glycerol and water alone, 0 to 100 C, any share",
    "other polyols; sugars and salts beside them",
    Band(Fraction("0.03"), Fraction("0.03")),
    "none needed: the spread of the published table is smaller than that of any thickness reading",
)

PI = Fraction("3.14159265358979323846")


def viscosity(share: Fraction, celsius: Fraction) -> Fraction:
    """mPa.s for a mass share of glycerol, 0 to 1 (Cheng 2008)."""
    t = celsius
    water = Fraction("1.790") * exp((-1230 - t) * t / (36100 + 360 * t))
    pure = 12100 * exp((-1233 + t) * t / (9900 + 70 * t))
    a = Fraction("0.705") - Fraction("0.0017") * t
    b = (Fraction("4.9") + Fraction("0.036") * t) * power(a, Fraction("2.5"))
    weight = 1 - share + a * b * share * (1 - share) / (a * share + b * (1 - share))
    return power(water, weight) * power(pure, 1 - weight)


def thickening(share: Fraction, celsius: Fraction = Fraction(25)) -> Fraction:
    """How many times more viscous than water the solvent is; 1 without glycerol.

    Its logarithm is 2.65 to 3.04 times the share up to 30 %, so it may be held while a formula moves little.
    """
    return ONE if not share else fixed(viscosity(share, celsius) / viscosity(Fraction(0), celsius))


def density(share: Fraction, celsius: Fraction) -> Fraction:
    """g/ml for a mass share of glycerol, 0 to 1 (Volk & Kähler 2018)."""
    t = celsius
    water = 1 - power(abs(t - 4) / 622, Fraction("1.7"))
    pure = (Fraction("1273.3") - Fraction("0.6121") * t) / 1000
    plain = 1 / ((1 - share) / water + share / pure)
    a = Fraction("0.00000178") * t * t - Fraction("0.000182") * t + Fraction("0.0141")
    bent = max(_sine(PI * power(share, Fraction("1.31"))), Fraction(0))
    return fixed(plain * (1 + a * power(bent, Fraction("0.81"))))


def _sine(angle: Fraction) -> Fraction:
    """By its series, to 15 digits between 0 and π."""
    term = total = angle
    for k in range(2, 40, 2):
        term = fixed(-term * angle * angle / (k * (k + 1)), digits=25)
        total += term
    return round(total, 15)


def thickening_per_share(share: Fraction, celsius: Fraction = Fraction(25)) -> Fraction:
    """ln of the thickening per share of glycerol, for a straight line through zero."""
    return fixed(ln(thickening(share, celsius)) / share)
