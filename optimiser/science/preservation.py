"""What of a preservative reaches the water undissociated: a screen on paper, never a claim.

Free concentration of the undissociated form in the water, in g/ml:

    c = dose / [ (water + bound) / α + K · oil + pack ]   dose in g, the rest in ml

α is the undissociated share at the pH, K the oil to water ratio of the undissociated form, `bound` the ml of
water that powders and micelles are worth, measured on all that is dissolved, `pack` the ml that the wall is
worth to the undissociated form. At a fixed pH every term is a constant per gram, so "c is at least so much"
is one exact row.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.science.about import Band, Model
from optimiser.science.powers import ONE, ZERO, Towards, opposite, power, ten_to

MODEL = Model(
    "undissociated preservative in the water",
    (
        "Bean, Heman-Ackah & Thomas 1965, J. Soc. Cosmet. Chem. 16:15 (oil and water)",
        "Preservatives for pharmaceuticals 1972, J. Soc. Cosmet. Chem. 23:714 (micelles: R = 1 + C S)",
        "Steinberg 2005, J. Cosmet. Sci. 56:361 (undissociated shares)",
        "binding by powders: a line through zero, assumed",
        "packs: Bahal & Romansky 2002, Pharm. Dev. Technol. 7:49 (tubing, a like part at any dose; abstract)",
    ),
    "dilute weak acids and neutral preservatives between 15 and 40 C, below 15 % glycols, ionic strength "
    "below 0.3, all of it dissolved",
    "dimers of benzoic acid in mineral oil; cationic preservatives on swelling clay, which are taken up by "
    "charge; glycols, which change both the ratio and the dose that works",
    Band(Fraction("0.5"), Fraction("0.3")),
    "the pH (moves α); the preservative in a filtrate (gives the binding); a challenge test for the rest",
)

DAVIES_A, DAVIES_B = Fraction("0.5092"), Fraction("0.3")

LOW_RISK_SOURCE = (
    "ISO 29621 as listed by BAV Institut, 'What are microbiologically low-risk products in cosmetics?' "
    "(read: each with < or >); that the standard itself writes ≤ 3, ≥ 10 and ≥ 20 % is memory, so the "
    "narrower signs are used"
)


@dataclass(frozen=True, slots=True)
class Preservative:
    """One active form: pKa (None: no acid), K in ml/ml, least free dose and solubility in g/ml."""

    least: Fraction
    pka: Fraction | None = None
    k_oil: Fraction = ZERO
    solubility: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Claim:
    """What one gram of an ingredient (or a whole pot) draws on: ml of water, of oil, of binding, of pack."""

    water: Fraction = ZERO
    oil: Fraction = ZERO
    bound: Fraction = ZERO
    pack: Fraction = ZERO


ONE_ML = Claim(water=ONE)
SCREEN_STRENGTH = Fraction(1, 10)
"""Ionic strength (mol/kg) at which rows and judge take the undissociated share."""


def pka_shift(ionic_strength: Fraction) -> Fraction:
    """What salt adds to the pKa of an uncharged acid (a negative number), by Davies, at 25 °C."""
    root = power(ionic_strength, Fraction(1, 2))
    return -DAVIES_A * (root / (1 + root) - DAVIES_B * ionic_strength)


def undissociated(
    ph: Fraction, pka: Fraction | None, shift: Fraction = ZERO, towards: Towards = "near"
) -> Fraction:
    """Undissociated share of a monoprotic acid, 0 to 1; 1 for what is no acid."""
    if pka is None:
        return ONE
    return 1 / (1 + ten_to(ph - pka - shift, opposite(towards)))


def binding(grams_per_gram: Fraction, ml_per_gram: Fraction) -> Fraction:
    """ml of water that a binder is worth: Kd of a powder or C of a surfactant, times its share."""
    return grams_per_gram * ml_per_gram


def claimed(claim: Claim, preservative: Preservative, alpha: Fraction) -> Fraction:
    """ml that share the undissociated form: dose = concentration · this."""
    return (claim.water + claim.bound) / alpha + preservative.k_oil * claim.oil + claim.pack


def pot(lines: Iterable[tuple[Fraction, Claim]]) -> Claim:
    """The claims of grams of ingredients together."""
    water = oil = bound = pack = ZERO
    for grams, claim in lines:
        water, oil = water + grams * claim.water, oil + grams * claim.oil
        bound, pack = bound + grams * claim.bound, pack + grams * claim.pack
    return Claim(water, oil, bound, pack)


def free(dose: Fraction, whole: Claim, preservative: Preservative, alpha: Fraction) -> Fraction:
    """Free undissociated concentration in the water, g/ml, for `dose` grams of the active form in the pot.

    What the pot cannot dissolve falls out, so the figure never passes the solubility.
    """
    room = claimed(whole, preservative, alpha)
    if not room:
        return ZERO
    held = dose / room
    return held if preservative.solubility is None else min(held, preservative.solubility)


def dose_needed(whole: Claim, preservative: Preservative, alpha: Fraction) -> Fraction:
    """Grams of the active form that just give the least free dose."""
    return preservative.least * claimed(whole, preservative, alpha)


def row_term(active: Fraction, claim: Claim, preservative: Preservative, alpha: Fraction) -> Fraction:
    """Per gram of an ingredient that is `active` parts active form: Σ x · term ≥ 0 is the least free dose."""
    return active - preservative.least * claimed(claim, preservative, alpha)


def dissolved_term(active: Fraction, claim: Claim, preservative: Preservative, alpha: Fraction) -> Fraction:
    """Per gram: Σ x · term ≥ 0 says that all of the preservative is dissolved. Needs a solubility."""
    if preservative.solubility is None:
        raise ValueError("no solubility is known")
    return preservative.solubility * claimed(claim, preservative, alpha) - active


def needs_carrier(dose: Fraction, whole: Claim, preservative: Preservative, alpha: Fraction) -> Fraction:
    """Grams that the pot cannot hold dissolved: they need a carrier, more alkali or more water; 0 if none."""
    if preservative.solubility is None:
        return ZERO
    return max(ZERO, dose - preservative.solubility * claimed(whole, preservative, alpha))


def index(doses: Sequence[tuple[Preservative, Fraction, Fraction]], whole: Claim) -> Fraction:
    """Sum of free over least dose, for (preservative, grams, α): 1 and more covers on paper.

    Additive action is a rule of thumb: no synergy and no antagonism is counted.
    """
    return sum(
        (
            free(grams, whole, preservative, alpha) / preservative.least
            for preservative, grams, alpha in doses
        ),
        start=ZERO,
    )


def index_term(
    actives: Sequence[tuple[Preservative, Fraction, Fraction]], claim: Claim, side: Literal["inner", "outer"]
) -> Fraction:
    """Per gram of an ingredient, for (preservative, α, parts active form): Σ x · term ≥ 0.

    Inner: enough for an index of 1. Outer: needed for it. Both are exact for one preservative, and differ by
    as much as the preservatives differ in what oil and binders take of them.
    """
    doses, rooms = ZERO, []
    for preservative, alpha, active in actives:
        plain = claimed(ONE_ML, preservative, alpha)
        doses += active / (preservative.least * plain)
        rooms.append(claimed(claim, preservative, alpha) / plain)
    return doses - (max(rooms) if side == "inner" else min(rooms))


def binding_from_filtrate(
    dose: Fraction, dissolved: Fraction, water: Fraction, oil_claim: Fraction, binder: Fraction
) -> Fraction:
    """ml/g of a binder, from `dissolved` g/ml (all forms) read in a filtrate.

    `dose` in g, `water` in ml, `oil_claim` = α K oil in ml, `binder` in g. Negative: less than nothing was
    bound, so the reading or the dose is off.
    """
    return (dose / dissolved - water - oil_claim) / binder


@dataclass(frozen=True, slots=True)
class Span:
    """Least and greatest value of a number."""

    low: Fraction
    high: Fraction


def low_risk(
    *,
    ph: Span | None = None,
    water_activity: Span | None = None,
    ethanol: Span | None = None,
    water: Span | None = None,
) -> tuple[str, ...]:
    """Which lines of the standard on microbiologically low-risk products surely hold (LOW_RISK_SOURCE).

    `ethanol` and `water` in % of the formula. A number that is not known meets no line.
    """
    met = []
    if water is not None and not water.high:
        met.append("free of water")
    if water_activity is not None and water_activity.high < Fraction("0.75"):
        met.append("water activity below 0.75")
    if ph is not None and ph.high < 3:
        met.append("pH below 3")
    if ph is not None and ph.low > 10:
        met.append("pH above 10")
    if ethanol is not None and ethanol.low > 20:
        met.append("more than 20 % ethanol")
    return tuple(met)
