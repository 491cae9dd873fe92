"""Volume fraction of kaolin slurries at one viscosity, and the dilute limit of any suspension.

Qiu et al. 2017, J. Wuhan Univ. Technol. 32:51: 65.0 % w/w raw and 70.13 % w/w urea-treated kaolin flow
alike, so a dispersant alone moves the volume fraction from 0.41 to 0.47. Kaolin 2.62 g/ml, water 1.
Einstein 1906: the first volume per cent makes a liquid thicker by [η] per cent.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.suspension import (
    Powder,
    fraction_for,
    packing_from_reading,
    relative_viscosity,
    solid_volume,
    volume_fraction,
)

KAOLIN = Fraction("2.62")


@pytest.mark.parametrize(
    ("percent", "read"),
    [
        ("30", "0.140"),
        ("40", "0.202"),
        ("50", "0.276"),
        ("60", "0.363"),
        ("65.0", "0.414"),
        ("70.13", "0.472"),
    ],
)
def test_volume_fraction(percent: str, read: str) -> None:
    grams = Fraction(percent)
    solids = grams * solid_volume(KAOLIN)
    assert abs(volume_fraction(solids, solids + 100 - grams) - Fraction(read)) <= Fraction("0.0011")


def test_dispersant_moves_the_packing_by_as_much() -> None:
    """Equal viscosity at 0.414 and 0.472: with [η] 5 the packing that explains the second is a quarter
    above the first."""
    times = relative_viscosity(Fraction("0.414"), Powder(Fraction("0.50"), Fraction(5)))
    assert times is not None
    moved = packing_from_reading(Fraction("0.472"), times, Fraction(5))
    assert Fraction("1.24") < moved / Fraction("0.50") < Fraction("1.26")
    assert abs(fraction_for(times, Powder(moved, Fraction(5))) - Fraction("0.472")) < Fraction(1, 10**10)


@pytest.mark.parametrize("shape", ["2.5", "2.7", "5"])
@pytest.mark.parametrize("packing", ["0.4", "0.58", "0.71"])
def test_dilute_limit(packing: str, shape: str) -> None:
    little = Fraction(1, 10**6)
    times = relative_viscosity(little, Powder(Fraction(packing), Fraction(shape)))
    assert times is not None
    assert abs((times - 1) / little - Fraction(shape)) < Fraction(1, 10**4)
