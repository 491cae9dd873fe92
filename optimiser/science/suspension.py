"""Powders in a liquid: how many times thicker they make it, by volume.

Krieger & Dougherty for one powder: X = (1 - φ / φm)^(-[η] φm), so a factor X needs φ*(X). Powders together:
Σ φ / φ*(X) = 1 defines X, which is exact for one powder. φ counts the water a powder holds fast. At a fixed
X this is one row: Σ x · (solid volume / φ* - whole volume) ≥ 0 for a floor, ≤ 0 for a ceiling.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.science.about import Model, factor
from optimiser.science.powers import ONE, ZERO, Towards, exp, fixed, ln, opposite, power, where_it_falls_to

MODEL = Model(
    "thickness given by powders",
    (
        "Krieger & Dougherty 1959, Trans. Soc. Rheol. 3:137 (cited from memory)",
        "Qiu et al. 2017, J. Wuhan Univ. Technol. 32:51 (one kaolin, two dispersions: φ 0.41 and 0.47)",
        "powders together by equivalents: additive rule, assumed",
    ),
    "kaolin, talc, starch, oxides: wetted, not swelling, well dispersed",
    "swelling clays, whose body is a yield stress that depends on pH and salt; card houses of clay below "
    "pH 6; the first day of swelling; fine powder filling the gaps of a coarse one",
    factor(Fraction(5, 2)),
    "the thickness of one batch gives φm or the water held; two batches give both",
)
AFTER_ONE_READING = factor(Fraction(5, 4))
MOST = Fraction(10) ** 9
HAIR = Fraction(1, 10**12)


@dataclass(frozen=True, slots=True)
class Powder:
    """`packing`: φm, the most that packs; `shape`: [η], 2.5 for spheres; volumes per gram in ml."""

    packing: Fraction
    shape: Fraction = Fraction(5, 2)


def relative_viscosity(phi: Fraction, powder: Powder, towards: Towards = "near") -> Fraction | None:
    """How many times thicker at volume fraction `phi`; None where it packs solid."""
    if phi >= powder.packing:
        return None
    room = 1 - phi / powder.packing
    return fixed(1 / power(room, powder.shape * powder.packing, opposite(towards)), towards)


def fraction_for(times: Fraction, powder: Powder, towards: Towards = "near") -> Fraction:
    """Volume fraction at which the liquid is `times` thicker (1 and more)."""
    left = power(times, -1 / (powder.shape * powder.packing), opposite(towards))
    return powder.packing * (1 - left)


def solid_volume(density: Fraction, held: Fraction = ZERO) -> Fraction:
    """ml that one gram of powder takes up, with the water it holds fast (ml/g)."""
    return 1 / density + held


def volume_fraction(solids: Fraction, whole: Fraction) -> Fraction:
    """φ from ml of solids (held water within) and ml of everything."""
    return solids / whole


def mixture_viscosity(powders: Sequence[tuple[Powder, Fraction]]) -> Fraction | None:
    """How many times thicker (powder, volume fraction) make it together; None where they pack solid."""
    there = [(powder, phi) for powder, phi in powders if phi > 0]
    if not there:
        return ONE
    if len(there) == 1:
        return relative_viscosity(there[0][1], there[0][0])
    if fill(there, MOST) >= 1:
        return None
    start = ln(max(relative_viscosity(phi, powder, "down") or MOST for powder, phi in there), "down") - HAIR
    return exp(where_it_falls_to(ONE, lambda at: fill(there, exp(at)), start, ln(MOST)))


def fill(powders: Sequence[tuple[Powder, Fraction]], times: Fraction) -> Fraction:
    """Σ φ / φ*(X): 1 at the factor of the mixture, more where it is thicker."""
    return sum((phi / fraction_for(times, powder) for powder, phi in powders), start=ZERO)


def row_term(
    powder: Powder | None, solid: Fraction, whole: Fraction, times: Fraction, towards: Towards = "near"
) -> Fraction:
    """Per gram: Σ x · term ≥ 0 is "at least `times` thicker", ≤ 0 "at most".

    `solid` and `whole` in ml per gram: what the powder takes up with its held water, and 1 / density.
    """
    if powder is None:
        return -whole
    return fixed(solid / fraction_for(times, powder, opposite(towards)), towards) - whole


def fraction_term(solid: Fraction, whole: Fraction, phi: Fraction) -> Fraction:
    """Per gram: Σ x · term ≥ 0 is "at least `phi` by volume", ≤ 0 "at most"."""
    return solid - phi * whole


def total_thickness(liquid: Fraction, times: Fraction) -> Fraction:
    """Pa.s of the paste: the liquid between the grains times what the grains do."""
    return liquid * times


def packing_from_reading(phi: Fraction, times: Fraction, shape: Fraction = Fraction(5, 2)) -> Fraction:
    """φm of one powder from one reading: `times` thicker at volume fraction `phi`.

    Raises ValueError where no packing up to 1 fits: then held water or the shape is off.
    """
    low, high = phi * (1 + Fraction(1, 10**6)), ONE
    return where_it_falls_to(times, lambda packing: _times(phi, Powder(packing, shape)), low, high)


def _times(phi: Fraction, powder: Powder) -> Fraction:
    found = relative_viscosity(phi, powder)
    return MOST * MOST if found is None else found
