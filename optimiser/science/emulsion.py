"""HLB of an emulsifier blend against what the oils ask for.

Blend and demand are averages by weight. Their difference is a ratio of sums on both sides, so it is bilinear
when emulsifiers and oils both move. It is linear at a fixed emulsifier to oil ratio r:
Σ x · HLB of emulsifiers - r · Σ x · demand of oils, within ± tolerance · r · oils; and also when both sides
are held to one fixed HLB.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from optimiser.science.about import Band, Model
from optimiser.science.powers import ZERO

MODEL = Model(
    "HLB of emulsifiers and oils",
    (
        "Griffin 1949, J. Soc. Cosmet. Chem. 1:311 and 1954, 5:249 (cited from memory)",
        "blend table: PMC4137601, Table 2",
    ),
    "ethoxylates, sorbitan and glyceryl esters in oil-in-water emulsions",
    "ionic, polyglyceryl and polymeric emulsifiers, liquid crystals; that demands add up was never proven "
    "(Pasquali 2008)",
    Band(Fraction(1), Fraction(1), relative=False),
    "the best of five blends in steps gives the demand of the whole oil phase",
)
PLANT_OIL_BAND = Band(Fraction(2), Fraction(2), relative=False)


def mean(parts: Iterable[tuple[Fraction, Fraction]]) -> Fraction | None:
    """HLB of a blend, or demand of an oil phase, of (grams, own value); None of nothing."""
    parts = tuple(parts)
    grams = sum((amount for amount, _ in parts), start=ZERO)
    return sum((amount * own for amount, own in parts), start=ZERO) / grams if grams else None


def mismatch(
    emulsifiers: Iterable[tuple[Fraction, Fraction]], oils: Iterable[tuple[Fraction, Fraction]]
) -> Fraction | None:
    """HLB of the blend minus what the oils ask for; None without oil or without emulsifier."""
    blend, demand = mean(emulsifiers), mean(oils)
    return None if blend is None or demand is None else blend - demand


def emulsifier_term(own: Fraction) -> Fraction:
    """Per gram of emulsifier in the row at a fixed emulsifier to oil ratio."""
    return own


def oil_terms(demand: Fraction, ratio: Fraction, tolerance: Fraction) -> tuple[Fraction, Fraction]:
    """Per gram of oil: with the emulsifier terms, Σ ≥ 0 of the first is "not too low", Σ ≤ 0 of the second
    "not too high". True where emulsifier / oil = ratio, which needs its own row."""
    return -ratio * (demand - tolerance), -ratio * (demand + tolerance)


def ratio_terms(ratio: Fraction) -> tuple[Fraction, Fraction]:
    """Per gram of emulsifier and of oil: Σ = 0 is emulsifier / oil = ratio, ≥ 0 at least, ≤ 0 at most."""
    return Fraction(1), -ratio


def at_hlb_terms(own: Fraction, hlb: Fraction, tolerance: Fraction) -> tuple[Fraction, Fraction]:
    """Per gram of emulsifiers, or of oils, about one fixed HLB: Σ first ≥ 0 and Σ second ≤ 0.

    Half the tolerance on each side is enough for the whole, whatever the ratio; it asks more than is needed.
    """
    return own - (hlb - tolerance), own - (hlb + tolerance)


def two_emulsifiers(low: Fraction, high: Fraction, wanted: Fraction) -> Fraction:
    """Share of the one with the high HLB in a pair that gives what is wanted (0 to 1, else out of reach)."""
    return (wanted - low) / (high - low)


def griffin_ester(saponification: Fraction, acid: Fraction) -> Fraction:
    """HLB of a polyol ester from the saponification number of the ester and the acid number of its acid."""
    return 20 * (1 - saponification / acid)
