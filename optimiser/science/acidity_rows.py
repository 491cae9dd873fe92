"""The pH window as rows: what one gram brings at a fixed pH and ionic strength, exact from here on.

With x_i in grams per 100 g, the pH lies between a and b exactly when sum x_i q_i(a) >= 0 >= sum x_i q_i(b),
q in mmol/g at the ionic strength of the mixture. Inner rows take q at three strengths, with a cap on the
strength; outer rows take for each ingredient the best q over every strength the judge accepts.
Coefficients are fixed once to 15 digits of the largest term they are summed from, rounded as asked.
"""

from __future__ import annotations

from fractions import Fraction
from math import floor, log10
from typing import Literal

from optimiser.science.acidity import LAST_STRENGTH, TRUSTED_STRENGTH, water_ions
from optimiser.science.activity import DAVIES, LN10, Activity
from optimiser.science.charge import Acid, ChargeProfile, End, Spread, reach_of_share, seen_at
from optimiser.science.equilibrium import FormOf, forms, moments

Rounding = Literal["down", "up", "nearest"]
DIGITS = 15
USUAL_STRENGTH = Fraction(15, 100)
GRID = 200
"""Points over the range where a charge of both signs is searched; what lies between is allowed for."""


def inner_levels(cap: Fraction, activity: Activity = DAVIES) -> tuple[Fraction, Fraction, Fraction]:
    """The ionic strengths (mol/kg) at which both pH rows are written when the strength is capped at `cap`.

    Nought, a third of the cap, and the cap or where the coefficients are at their least, about 0.39.
    Starting at 0.005 instead lets dilute mixtures (0.002) out by 0.03;
    ending at 0.5 those at 0.4 by 0.005 pH.
    """
    turning = Fraction(round(1000 * activity.turning_strength()), 1000)
    return Fraction(0), cap / 3, min(cap, turning)


def charge_per_gram(
    profile: ChargeProfile,
    ph: Fraction,
    ionic_strength: Fraction,
    *,
    end: End = "middle",
    rounding: Rounding = "nearest",
    activity: Activity = DAVIES,
) -> Fraction:
    """q in mmol/g. Against the proposal: "down" in the row at the window's foot, "up" in that at its top."""
    at, drop = float(ph), activity.drop(float(ionic_strength))
    terms = [float(profile.strong_charge), *_of_water(profile, at, drop, activity)]
    terms += [float(acid.amount) * _mean(acid, at, drop, end) for acid in profile.acids]
    terms += [powder.line(at, end)[0] for powder in profile.buffers]
    terms += [_moved(spread, at, drop, end) for spread in profile.spreads]
    return _fixed(terms, rounding)


def _mean(acid: Acid, ph: float, drop: float, end: End) -> float:
    """Mean charge of an acid, its constants at one end of what they may be."""
    return moments(_ready(acid), seen_at(ph, float(acid.off), end), drop).mean


def _moved(spread: Spread, ph: float, drop: float, end: End) -> float:
    """What a share at one end of its range brings beside its middle, mmol/g."""
    charge = float(spread.strong)
    charge += sum(float(acid.amount) * _mean(acid, ph, drop, end) for acid in spread.acids)
    return reach_of_share(charge, float(spread.below), float(spread.above), end) * charge


def charge_bounds_per_gram(
    profile: ChargeProfile,
    ph: Fraction,
    *,
    upto: Fraction = Fraction(str(LAST_STRENGTH)),
    low_end: End = "middle",
    high_end: End = "middle",
    activity: Activity = DAVIES,
) -> tuple[Fraction, Fraction]:
    """(least, most) q in mmol/g over every ionic strength from 0 to `upto`: for outer rows, rounded outward.

    The strength enters through the drop of the coefficients alone, which runs from 0 to `most_drop(upto)`.
    d<z>/d drop = ln10 Cov(z, z^2): at most 0 when no form is positive, at least 0 when none is negative, so
    the extremes are at the ends; with charges of both signs a grid is taken and widened by what lies between.
    Water's ions move with the drop one way only. Each term is bounded by itself, so the sum is, too.
    """
    at, most = float(ph), activity.most_drop(float(upto))
    lows = [float(profile.strong_charge)]
    highs = list(lows)
    for first, second in zip(
        _of_water(profile, at, 0.0, activity), _of_water(profile, at, most, activity), strict=True
    ):
        lows.append(min(first, second))
        highs.append(max(first, second))
    for acid in profile.acids:
        lows.append(float(acid.amount) * _bounds(acid, at, most, low_end)[0])
        highs.append(float(acid.amount) * _bounds(acid, at, most, high_end)[1])
    for powder in profile.buffers:
        lows.append(powder.line(at, low_end)[0])
        highs.append(powder.line(at, high_end)[0])
    for spread in profile.spreads:
        lows.append(_moved_bounds(spread, at, most, low_end)[0])
        highs.append(_moved_bounds(spread, at, most, high_end)[1])
    return _fixed(lows, "down"), _fixed(highs, "up")


def _moved_bounds(spread: Spread, ph: float, most_drop: float, end: End) -> tuple[float, float]:
    """(least, most) of `_moved` over 0 <= drop <= most_drop: it is bent where the charge changes sign."""
    least = most = float(spread.strong)
    for acid in spread.acids:
        ends = _bounds(acid, ph, most_drop, end)
        least, most = least + float(acid.amount) * ends[0], most + float(acid.amount) * ends[1]
    charges = [least, most, *([0.0] if least < 0 < most else [])]
    below, above = float(spread.below), float(spread.above)
    found = [reach_of_share(charge, below, above, end) * charge for charge in charges]
    return min(found), max(found)


def charge_margin_per_gram(
    profile: ChargeProfile,
    ph: Fraction,
    ionic_strength: Fraction = USUAL_STRENGTH,
    *,
    activity: Activity = DAVIES,
) -> Fraction:
    """How far the charge may lie from its middle by the data of powders, shares and constants, mmol/g."""
    at, drop = float(ph), activity.drop(float(ionic_strength))
    loose = [acid for acid in profile.acids if acid.off]
    lines = [[float(acid.amount) * _mean(acid, at, drop, end) for end in _ENDS] for acid in loose]
    lines += [[powder.line(at, end)[0] for end in _ENDS] for powder in profile.buffers]
    lines += [[_moved(spread, at, drop, end) for end in _ENDS] for spread in profile.spreads]
    return _fixed([max(high - middle, middle - low) for low, middle, high in lines], "up")


def ion_strength_per_gram(
    profile: ChargeProfile,
    ph: Fraction,
    ionic_strength: Fraction = USUAL_STRENGTH,
    *,
    activity: Activity = DAVIES,
) -> Fraction:
    """s in mmol/g, half of amount times charge squared: sum x_i (s_i - cap w_i) <= 0 caps the strength.

    w is the share of water (g/g) and `cap` in mol/kg. Powders bring nothing.
    """
    at, drop = float(ph), activity.drop(float(ionic_strength))
    acid, alkali = water_ions(at, drop, activity)
    water = float(profile.water)
    terms = [float(profile.strong_squares), water * acid, water * alkali]
    terms += [float(one.amount) * moments(_ready(one), at, drop).square for one in profile.acids]
    return _fixed([term / 2 for term in terms], "nearest")


def ion_strength_bounds_per_gram(
    profile: ChargeProfile,
    low_ph: Fraction,
    high_ph: Fraction,
    *,
    upto: Fraction = Fraction(str(LAST_STRENGTH)),
    activity: Activity = DAVIES,
) -> tuple[Fraction, Fraction]:
    """(least, most) s in mmol/g over pH from `low_ph` to `high_ph` and strengths from 0 to `upto`.

    d<z^2>/d drop = ln10 Var(z^2) >= 0: least at drop 0, most at the largest. d<z^2>/d pH = -ln10 Cov(z, z^2)
    has one sign unless the acid has charges of both signs; there, a grid, widened. H+ and OH- are counted at
    their most at the ends and as none at the least.
    """
    foot, top, drop = float(low_ph), float(high_ph), activity.most_drop(float(upto))
    water = float(profile.water)
    ends = [float(sum(water_ions(at, drop, activity))) for at in (foot, top)]
    lows, highs = [float(profile.strong_squares)], [float(profile.strong_squares), water * max(ends)]
    for acid in profile.acids:
        ready, amount = _ready(acid), float(acid.amount)
        lows.append(amount * _square_bounds(ready, foot, top, 0.0)[0])
        highs.append(amount * _square_bounds(ready, foot, top, drop)[1])
    for spread in profile.spreads:
        most = float(spread.squares)
        most += sum(
            float(acid.amount) * _square_bounds(_ready(acid), foot, top, drop)[1] for acid in spread.acids
        )
        lows.append(float(spread.below) * most)
        highs.append(float(spread.above) * most)
    return _fixed([low / 2 for low in lows], "down"), _fixed([high / 2 for high in highs], "up")


def strength_coefficient(strength: Fraction, profile: ChargeProfile, cap: Fraction) -> Fraction:
    """s - cap w for the row sum x_i (s_i - cap w_i) <= 0, exact."""
    return strength - cap * profile.water


def buffer_per_gram(
    profile: ChargeProfile,
    ph: Fraction,
    ionic_strength: Fraction = USUAL_STRENGTH,
    *,
    end: End = "middle",
    activity: Activity = DAVIES,
) -> Fraction:
    """Buffer capacity -dq/dpH in mmol/g: sum x_i (b_i - floor w_i) >= 0 holds it above `floor` mol/kg/pH."""
    at, drop = float(ph), activity.drop(float(ionic_strength))
    acid, alkali = water_ions(at, drop, activity)
    terms = [LN10 * float(profile.water) * (acid + alkali)]
    terms += [float(a.amount) * LN10 * moments(_ready(a), at, drop).variance for a in profile.acids]
    terms += [powder.line(at, end)[1] for powder in profile.buffers]
    return _fixed(terms, "down")


def _ready(acid: Acid) -> FormOf:
    return forms([float(value) for value in acid.pka], acid.protonated)


def _of_water(profile: ChargeProfile, ph: float, drop: float, activity: Activity) -> tuple[float, float]:
    acid, alkali = water_ions(ph, drop, activity)
    water = float(profile.water)
    return water * acid, -water * alkali


def _one_sign(acid: FormOf) -> bool:
    charges = [form.charge for form in acid]
    return max(charges) <= 0 or min(charges) >= 0


def _steepest(acid: FormOf) -> float:
    """No less than |Cov(z, z^2)| ln10: half the range of z times half that of z^2 (Cauchy, Popoviciu)."""
    charges = [form.charge for form in acid]
    squares = [charge**2 for charge in charges]
    return LN10 * (max(charges) - min(charges)) / 2 * (max(squares) - min(squares)) / 2


def _bounds(acid: Acid, ph: float, most_drop: float, end: End) -> tuple[float, float]:
    return _mean_bounds(_ready(acid), seen_at(ph, float(acid.off), end), most_drop)


def _mean_bounds(acid: FormOf, ph: float, most_drop: float) -> tuple[float, float]:
    """(least, most) mean charge over 0 <= drop <= most_drop."""
    if _one_sign(acid):
        ends = (moments(acid, ph, 0.0).mean, moments(acid, ph, most_drop).mean)
        return min(ends), max(ends)
    values = [moments(acid, ph, most_drop * point / GRID).mean for point in range(GRID + 1)]
    slack = _steepest(acid) * most_drop / GRID / 2
    return min(values) - slack, max(values) + slack


def _square_bounds(acid: FormOf, low_ph: float, high_ph: float, drop: float) -> tuple[float, float]:
    """(least, most) mean square of charge over a range of pH at one drop."""
    if _one_sign(acid):
        ends = (moments(acid, low_ph, drop).square, moments(acid, high_ph, drop).square)
        return min(ends), max(ends)
    step = (high_ph - low_ph) / GRID
    values = [moments(acid, low_ph + step * point, drop).square for point in range(GRID + 1)]
    slack = _steepest(acid) * step / 2
    return max(min(values) - slack, 0.0), max(values) + slack


_ENDS: tuple[End, End, End] = ("low", "middle", "high")


def _fixed(terms: list[float], rounding: Rounding) -> Fraction:
    """The sum to 15 digits of its largest term; "down" and "up" go one unit further than the rounding."""
    total = sum((Fraction(term) for term in terms), Fraction(0))
    largest = max((abs(term) for term in terms), default=0.0)
    if not largest:
        return Fraction(0)
    unit = Fraction(10) ** (floor(log10(largest)) - DIGITS + 1)
    units = total / unit
    if rounding == "nearest":
        return round(units) * unit
    return (floor(units) - 1) * unit if rounding == "down" else (-floor(-units) + 1) * unit


MOST_CAP = Fraction(str(TRUSTED_STRENGTH))
"""The cap to write in inner rows unless told otherwise."""
