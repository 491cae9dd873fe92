"""pH with sodium held by citrate and phosphate: how far the plain balance is off where there is much of both.

The plain balance and the rows written from it leave these pairs out; at 0.2 mol/kg of sodium with citrate
the pH is 0.1 lower than they say. Constants at zero ionic strength and 25 C, both from memory: 10^0.29 for
NaHPO4-, 10^1.03 for the pair of sodium and citrate 3-.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import log10

from optimiser.science.acidity import Grams, Mixture, PhResult, Profiles, mix, solve_mixture, told
from optimiser.science.activity import DAVIES, Activity
from optimiser.science.charge import Acid, ChargeProfile, End
from optimiser.science.equilibrium import FormOf, forms, holding, weights
from optimiser.science.roots import falling_root

SODIUM = "Na+"


@dataclass(frozen=True, slots=True)
class Pair:
    """The form of `substance` that lost `lost` protons holds one sodium ion with 10^`log_k`."""

    substance: str
    lost: int
    log_k: float


PAIRS = (Pair("Citric Acid", 3, 1.03), Pair("Phosphoric Acid", 2, 0.29))


def solve_ph_with_pairs(
    amounts: Grams,
    profiles: Profiles,
    *,
    pairs: Sequence[Pair] = PAIRS,
    end: End = "middle",
    activity: Activity = DAVIES,
) -> PhResult:
    """As `solve_ph`, with free sodium solved for: free and held sodium together are what was put in."""
    mixture = mix(amounts, profiles)
    if isinstance(mixture, tuple):
        return PhResult(None, why=mixture)
    sodium, holders = _holders(amounts, profiles, pairs, mixture.water)
    if not sodium or not holders:
        return told(mixture, solve_mixture(mixture, end, activity))

    def missing(free: float) -> float:
        paired, found = _at(mixture, holders, sodium, free, end, activity)
        drop = activity.drop(found[1])
        held = sum(
            amount * share
            for amount, acid in paired.acids
            for share, form in zip(weights(acid, found[0], drop), acid, strict=True)
            if form.net != form.charge
        )
        return sodium - free - held

    free = falling_root(missing, sodium * 1e-6, sodium, 1e-12)
    return told(mixture, _at(mixture, holders, sodium, free, end, activity)[1])


def _holders(
    amounts: Grams, profiles: Profiles, pairs: Sequence[Pair], water: float
) -> tuple[float, dict[FormOf, Pair]]:
    """Sodium in mol per kg of water, and the acids in the pot that hold it."""
    by_name = {pair.substance.casefold(): pair for pair in pairs}
    sodium, holders = Fraction(0), {}
    for name, grams in amounts.items():
        profile = profiles.get(name)
        if grams <= 0 or not isinstance(profile, ChargeProfile):
            continue
        sodium += sum((grams * ion.amount for ion in profile.ions if ion.name == SODIUM), Fraction(0))
        holders.update(
            {
                _forms(acid): by_name[key]
                for acid in profile.acids
                if (key := acid.substance.casefold()) in by_name
            }
        )
    return float(sodium) / water, holders


def _forms(acid: Acid) -> FormOf:
    return forms([float(value) for value in acid.pka], acid.protonated)


def _at(
    mixture: Mixture,
    holders: dict[FormOf, Pair],
    sodium: float,
    free: float,
    end: End,
    activity: Activity,
) -> tuple[Mixture, tuple[float, float, float]]:
    """The pot with this much free sodium, and its (pH, ionic strength, buffer capacity)."""
    acids = []
    for amount, acid in mixture.acids:
        pair = holders.get(acid)
        extra = () if pair is None else (holding(acid[pair.lost], pair.log_k, log10(free)),)
        acids.append((amount, (*acid, *extra)))
    squares = mixture.strong_squares - (sodium - free)
    paired = replace(mixture, acids=tuple(acids), strong_squares=squares)
    return paired, solve_mixture(paired, end, activity)
