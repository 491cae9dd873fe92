"""Density of glycerol in water at 25 C, g/ml.

L. W. Bosart & A. O. Snoddy 1928, Ind. Eng. Chem. 20:1377 (figures from memory), against the formula of A.
Volk & C. J. Kähler 2018, and against volumes that simply add up.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science import glycerol
from optimiser.science.density import density

TABLE = [
    (10, "1.02070"),
    (20, "1.04525"),
    (30, "1.07070"),
    (50, "1.12375"),
    (60, "1.15105"),
    (80, "1.20545"),
    (100, "1.25802"),
]
WATER, PURE = Fraction("0.99705"), Fraction("1.25802")


@pytest.mark.parametrize(("percent", "read"), TABLE)
def test_formula(percent: int, read: str) -> None:
    found = glycerol.density(Fraction(percent, 100), Fraction(25))
    assert abs(found / Fraction(read) - 1) <= Fraction("0.00036")


@pytest.mark.parametrize(("percent", "read"), TABLE)
def test_volumes_that_add_up_are_at_most_this_far_off(percent: int, read: str) -> None:
    found = density([(Fraction(percent), PURE), (Fraction(100 - percent), WATER)])
    assert Fraction("-0.0113") <= found / Fraction(read) - 1 <= 0
