"""Viscosity of glycerol in water, mPa.s.

J. B. Segur & H. E. Oberstar 1951, Ind. Eng. Chem. 43:2117 (figures from memory), against the formula of
N.-S. Cheng 2008, Ind. Eng. Chem. Res. 47:3285. CoolProp's aqueous glycerol (INCOMP::MGL) at 20 C as a second
table.
"""

from __future__ import annotations

from fractions import Fraction
from statistics import fmean

import pytest

from optimiser.science.glycerol import thickening, thickening_per_share, viscosity

AT_20 = {
    10: "1.31", 20: "1.76", 30: "2.50", 40: "3.72", 50: "6.00", 60: "10.8", 70: "22.5", 80: "60.1", 90: "219",
    95: "523", 100: "1410",
}  # fmt: skip
AT_30 = {10: "1.03", 20: "1.35", 40: "2.72", 50: "4.21", 70: "14.1", 90: "109", 100: "612"}
COOLPROP = {20: "1.746", 40: "3.701", 60: "10.49"}


@pytest.mark.parametrize(("celsius", "table"), [(20, AT_20), (30, AT_30)])
def test_formula_against_the_table(celsius: int, table: dict[int, str]) -> None:
    errors = [
        abs(float(viscosity(Fraction(percent, 100), Fraction(celsius)) / Fraction(read)) - 1)
        for percent, read in table.items()
    ]
    assert fmean(errors) < 0.014
    assert max(errors) < 0.028


@pytest.mark.parametrize(("percent", "read"), sorted(COOLPROP.items()))
def test_formula_against_a_second_table(percent: int, read: str) -> None:
    found = viscosity(Fraction(percent, 100), Fraction(20))
    assert abs(found / Fraction(read) - 1) < Fraction("0.045")


@pytest.mark.parametrize(("percent", "slope"), [(10, "2.65"), (20, "2.80"), (30, "3.04")])
def test_logarithm_per_share(percent: int, slope: str) -> None:
    found = thickening_per_share(Fraction(percent, 100), Fraction(20))
    assert abs(found / Fraction(slope) - 1) < Fraction("0.08")


def test_water_alone_thickens_nothing() -> None:
    assert thickening(Fraction(0)) == 1
