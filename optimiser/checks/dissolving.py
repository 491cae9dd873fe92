"""What of a dose the water will not hold: crystals in the jar, and less protection than was reckoned.

An acid preservative counts as its acid, undissociated, at the lowest pH of the window. Oil takes some of it
where the ratio is known. Water that is not known of a line counts as all of it, so nothing is said lightly.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.substance import Substance
from optimiser.science.constants import OILS, reading
from optimiser.science.preservation import Claim, Preservative, needs_carrier, undissociated
from optimiser.science.salts import acid_in
from optimiser.science.solubility import CAP

End = Literal["low", "value", "high"]
HELPERS = frozenset({"polyol", "alcohol", "surfactant", "emulsifier"})
HELPING = Fraction(5)
LEAST_TOLD = Fraction(1, 100)
LIGHTEST_OIL = Fraction(4, 5)
ZERO, ONE = Fraction(0), Fraction(1)
Window = tuple[Fraction, Fraction] | None


@dataclass(frozen=True, slots=True)
class Undissolved:
    """% of the formula that stays out: by the middle of the data, and at its worst.

    `surely` is False where only the worst values say so, or where oil, polyols or micelles of unknown power
    may take it up. `ph` is the pH it was reckoned at, None where it does not matter.
    """

    ingredient: Ingredient
    dose: Fraction
    out: Fraction
    worst: Fraction
    ph: Fraction | None
    surely: bool


@dataclass(frozen=True, slots=True)
class _Solute:
    """Lines that bring one substance: how much of it (%), of what pKa, and what one gram of a line brings."""

    first: Ingredient
    dose: Fraction
    amount: Fraction
    pka: Fraction | None
    figure: str


def undissolved(
    amounts: Amounts, window: Window, substances: Mapping[str, Substance]
) -> tuple[Undissolved, ...]:
    """Lines of which some stays out, most of it first; nothing for a formula without water."""
    if not any(one.group == "water" for one in amounts.present):
        return ()
    found = [
        one
        for solute in _solutes(amounts, substances)
        if (one := _out(solute, amounts, window)) is not None and one.worst >= LEAST_TOLD
    ]
    return tuple(sorted(found, key=lambda one: (-one.out, -one.worst, one.ingredient.id)))


def _out(solute: _Solute, amounts: Amounts, window: Window) -> Undissolved | None:
    acid = solute.figure == "acid_solubility"
    if acid and (window is None or solute.pka is None):
        return None
    ph = window[0] if acid and window is not None else None
    alpha = ONE if ph is None else undissociated(ph, solute.pka)
    share = solute.amount / solute.dose
    out = _beyond(solute, amounts, alpha, "value") / share
    worst = max(out, _beyond(solute, amounts, max(alpha, 1 / CAP), "low") / share)
    sure = out >= LEAST_TOLD and not _helped(solute, amounts)
    return Undissolved(solute.first, solute.dose, out, worst, ph, sure)


def _beyond(solute: _Solute, amounts: Amounts, alpha: Fraction, end: End) -> Fraction:
    """Grams of the substance, in 100 g, beyond what water and oil hold at one end of the data."""
    holds = reading(solute.first, solute.figure, end)
    if holds is None:
        return ZERO
    ratio = reading(solute.first, "oil_partition", end) or ZERO
    whole = Claim(water=_water(amounts), oil=_oil(amounts))
    return needs_carrier(solute.amount, whole, Preservative(ONE, solute.pka, ratio, holds / 100), alpha)


def _helped(solute: _Solute, amounts: Amounts) -> bool:
    """Whether oil of an unknown ratio, or enough polyol, alcohol or micelles, may hold the rest."""
    helping = amounts.sum(lambda one: ONE if one.group in HELPERS else ZERO)
    return helping >= HELPING or (bool(_oil(amounts)) and solute.first.figure("oil_partition") is None)


def _water(amounts: Amounts) -> Fraction:
    """ml of water in 100 g."""
    total = ZERO
    for slot, share in amounts.lines:
        content = reading(amounts.ingredients[slot.ingredient], "water_content")
        total += share if content is None else share * content / 100
    return total


def _oil(amounts: Amounts) -> Fraction:
    """ml of oil in 100 g."""
    return amounts.sum(
        lambda one: 1 / (reading(one, "density") or LIGHTEST_OIL) if one.group in OILS else ZERO
    )


def _solutes(amounts: Amounts, substances: Mapping[str, Substance]) -> list[_Solute]:
    """Every substance of limited solubility once; lines of one acid are taken together."""
    found: dict[str, _Solute] = {}
    for one in amounts.present:
        dose = amounts.of(one.id)
        for figure in ("solubility", "acid_solubility"):
            if one.figure(figure) is None:
                continue
            acid, part = acid_in(one, substances) if figure == "acid_solubility" else (None, ONE)
            pka = acid.pka[0] if acid is not None and acid.pka else None
            key = acid.name if acid is not None else one.id
            held = found.get(f"{figure}:{key}")
            if held is None:
                found[f"{figure}:{key}"] = _Solute(one, dose, dose * part, pka, figure)
            else:
                both = held.dose + dose, held.amount + dose * part
                found[f"{figure}:{key}"] = _Solute(held.first, *both, pka, figure)
    return [found[key] for key in sorted(found) if found[key].dose]
