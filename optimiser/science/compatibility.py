"""Opposite charges counted: cationic against anionic, and against clay; metals against chelators.

Stoichiometric screens in meq. Each is one row; what really falls out needs a bench test.
"""

from __future__ import annotations

from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.powers import ZERO

MODEL = Model(
    "opposite charges",
    (
        "Yong 2001, Geoenvironmental Engineering, Table 2.1 (exchange capacity)",
        "Clay Minerals Society source-clay data (exchange capacity)",
        "a twentieth of the polymer's charge as the most that is borne: assumed",
    ),
    "strong cations and anions in dilute water, clay up to its exchange capacity",
    "amphoterics near their own pH, mixed micelles with much surfactant in excess, polymers of low charge",
    Band(Fraction("0.5"), Fraction(1)),
    "a clear or hazy test tube of the two at their use level",
)
BORNE = Fraction(1, 20)
ZINC_OXIDE_BASE = Fraction(2000) / Fraction("81.38")


def charge(share: Fraction, charges: Fraction, molar_mass: Fraction) -> Fraction:
    """meq per gram of an ingredient that holds a share of a substance with so many charges."""
    return 1000 * share * charges / molar_mass


def exchange(capacity: Fraction) -> Fraction:
    """meq per gram of clay from its exchange capacity in meq per 100 g."""
    return capacity / 100


def row_term(cationic: Fraction, anionic: Fraction, borne: Fraction = BORNE) -> Fraction:
    """Per gram, in meq: Σ x · term ≤ 0 is "no more cationic charge than the anionic side bears"."""
    return cationic - borne * anionic


def bound_by_clay(cationic: Fraction, exchangeable: Fraction) -> Fraction:
    """meq of cations that the clay takes out of the water, up to its capacity."""
    return min(cationic, exchangeable)


def left_by_clay_term(cationic: Fraction, exchangeable: Fraction) -> Fraction:
    """Per gram, in meq: Σ x · term ≥ 0 is "some cation is left when the clay is full"."""
    return cationic - exchangeable


def chelator_term(metal: Fraction, chelator: Fraction) -> Fraction:
    """Per gram, in mmol of calcium and magnesium and of chelator: Σ x · term ≤ 0 is "enough chelator"."""
    return metal - chelator


def excess(cationic: Fraction, anionic: Fraction, borne: Fraction = BORNE) -> Fraction:
    """meq of cationic charge beyond what the anionic side bears; 0 if none."""
    return max(ZERO, cationic - borne * anionic)


def zinc_oxide_dissolves(ph: Fraction) -> bool:
    """Whether an acid formula eats zinc oxide, two protons each (24.6 meq/g): below about pH 6.5 (memory)."""
    return ph < Fraction("6.5")
