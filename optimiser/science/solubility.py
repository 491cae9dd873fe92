"""How much of a substance the water holds dissolved.

An acid: S0 / α(pH), S0 being what dissolves undissociated, never more than `cap` times S0. At the lowest pH
of a window this is a constant, so "it all dissolves" is one row: Σ x · share ≤ S · water.
"""

from __future__ import annotations

from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.powers import ZERO, Towards, fixed, ln, opposite, ten_to
from optimiser.science.preservation import undissociated

MODEL = Model(
    "solubility",
    (
        "Food Additives Data Book p. 733 (sorbic acid at pH 3.1, 4.4, 5.9; in 10 % salt)",
        "Yalkowsky: log-linear in the cosolvent; Setschenow: log-linear in salt (general)",
    ),
    "one solute in water at the coldest it will be kept, up to twice the solubility of the free acid",
    "further from the pKa, where S0 / α promises too much (sorbic acid at pH 5.9: 2.2 % against 1.0 % read); "
    "micelles and oil, which hold more",
    Band(Fraction("0.3"), ZERO),
    "crystals or haze after a day at 5 C",
)
CAP = Fraction(2)


def holds(
    pure: Fraction,
    ph: Fraction | None = None,
    pka: Fraction | None = None,
    *,
    cap: Fraction = CAP,
    shift: Fraction = ZERO,
    towards: Towards = "near",
) -> Fraction:
    """g per g of water, from what dissolves of the free form; an acid dissolves better above its pKa."""
    if pka is None or ph is None:
        return pure
    return min(fixed(pure / undissociated(ph, pka, shift, opposite(towards)), towards), cap * pure)


def uncapped(pure: Fraction, ph: Fraction, pka: Fraction, shift: Fraction = ZERO) -> Fraction:
    """S0 / α alone."""
    return pure / undissociated(ph, pka, shift)


def row_term(substance: Fraction, water: Fraction, limit: Fraction) -> Fraction:
    """Per gram with these shares of the substance and of water: Σ x · term ≤ 0 is "it all dissolves"."""
    return substance - limit * water


def undissolved(substance: Fraction, water: Fraction, limit: Fraction) -> Fraction:
    """Grams that stay out of grams of water; 0 if all dissolves."""
    return max(ZERO, substance - limit * water)


def with_cosolvent(pure: Fraction, strength: Fraction, share: Fraction) -> Fraction:
    """g/g in water with a volume share of cosolvent: S · 10^(strength · share)."""
    return pure * ten_to(strength * share)


def in_salt(pure: Fraction, constant: Fraction, molality: Fraction) -> Fraction:
    """g/g in salt water: S · 10^(-constant · molality)."""
    return pure * ten_to(-constant * molality)


def salt_constant(pure: Fraction, salted: Fraction, molality: Fraction) -> Fraction:
    """Setschenow constant from one reading in salt water."""
    return fixed(ln(pure / salted) / ln(Fraction(10)) / molality)
