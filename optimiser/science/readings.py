"""From pH readings of trials back to the powder: its charge at one pH, its line from two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.science.acidity import Grams, Profiles, mix
from optimiser.science.activity import DAVIES, Activity
from optimiser.science.charge import ChargeProfile, Unknown
from optimiser.science.roots import falling_root

LEAST_APART = 0.2
"""Readings closer than this in pH tell no slope: twice the error of a meter in a paste (common practice)."""


@dataclass(frozen=True, slots=True)
class PowderReading:
    """`points`: (pH read, charge of the powder in meq/g there).

    From two apart: `slope` (meq/g per pH) and `own_ph`. `why` says why there is no line.
    """

    points: tuple[tuple[float, float], ...]
    slope: float | None = None
    own_ph: float | None = None
    why: str = ""


def slope_from_readings(
    trials: Sequence[tuple[Grams, Fraction]],
    profiles: Profiles,
    powder: str,
    *,
    activity: Activity = DAVIES,
) -> PowderReading | Unknown:
    """What the trials (grams by ingredient, pH read) say of one powder, all else as in `profiles`.

    The charge that balances the rest at the pH read is the powder's. A line through two or more readings is
    the one of least squares; with readings too close, or a line that rises, there are the points alone.
    """
    rest = {name: profile for name, profile in profiles.items() if name != powder}
    water = profiles.get(powder)
    rest[powder] = ChargeProfile(water=water.water) if isinstance(water, ChargeProfile) else ChargeProfile()
    points = []
    for amounts, ph in trials:
        found = _charge_at(amounts, rest, powder, float(ph), activity)
        if isinstance(found, Unknown):
            return found
        points.append((float(ph), found))
    return _line(tuple(points))


def _charge_at(amounts: Grams, rest: Profiles, powder: str, ph: float, activity: Activity) -> float | Unknown:
    """meq per gram of the powder, at the ionic strength the dissolved ions have at that pH."""
    grams = amounts.get(powder, Fraction(0))
    if grams <= 0:
        return Unknown(f"{powder} is not in the trial")
    mixture = mix(amounts, rest)
    if isinstance(mixture, tuple):
        return Unknown("; ".join(mixture))

    def over(strength: float) -> float:
        return mixture.dissolved(ph, strength, activity)[1] / 2 - strength

    most = 1.0
    while over(most) > 0:
        most *= 2
    strength = falling_root(over, 0.0, most, 1e-13)
    charge = mixture.balance(ph, strength, activity, "middle")[0]
    return -charge * mixture.water / float(grams)


def _line(points: tuple[tuple[float, float], ...]) -> PowderReading:
    spread = max(ph for ph, _ in points) - min(ph for ph, _ in points) if points else 0.0
    if spread < LEAST_APART:
        return PowderReading(
            points, why="one pH alone tells the charge there; a second trial tells the slope"
        )
    mean_ph = sum(ph for ph, _ in points) / len(points)
    mean_charge = sum(charge for _, charge in points) / len(points)
    across = sum((ph - mean_ph) ** 2 for ph, _ in points)
    slope = -sum((ph - mean_ph) * (charge - mean_charge) for ph, charge in points) / across
    if slope <= 0:
        return PowderReading(points, why="the readings contradict each other: less acid, yet a lower pH")
    return PowderReading(points, slope, mean_ph + mean_charge / slope)
