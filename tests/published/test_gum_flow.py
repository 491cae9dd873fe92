"""Flow of gums.

Xanthan: 1 % in 1 % KCl has a shear ratio of at least 6.0 over a tenfold of shear (food-grade
specification). Konjac: J.-S. Gong et al. 2003, Food Science (Beijing) 24(4):23 (abstract): K 0.01189,
0.02778, 0.1583 (read as Pa.s^n) at 0.100, 0.150, 0.200 %, flow index 0.9388, 0.8897, 0.7229.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.thickness import Gum, dose_for, flow_from_shear_ratio, law_from_readings, viscosity

KONJAC = [("0.100", "0.01189"), ("0.150", "0.02778"), ("0.200", "0.1583")]


def test_xanthan_flow_index() -> None:
    assert round(flow_from_shear_ratio(Fraction(6)), 3) == Fraction("0.222")


def test_xanthan_shear_ratio_comes_back() -> None:
    gum = Gum(Fraction(11), Fraction(2), flow_from_shear_ratio(Fraction(6)))
    ratio = viscosity(gum, Fraction(1), Fraction(6)) / viscosity(gum, Fraction(1), Fraction(60))
    assert abs(ratio - 6) < Fraction(1, 10**10)


def test_konjac_exponent_is_near_that_of_supplier_sheets() -> None:
    (c1, k1), _, (c3, k3) = KONJAC
    strength, exponent = law_from_readings((Fraction(c1), Fraction(k1)), (Fraction(c3), Fraction(k3)))
    assert Fraction("3.6") < exponent < Fraction("3.8")
    assert Fraction(30) < strength < Fraction(90)


@pytest.mark.parametrize(("percent", "read"), KONJAC)
def test_one_power_law_is_within_a_factor_of_two(percent: str, read: str) -> None:
    """Through the ends; the middle is read at half of it. As a dose that is 20 %."""
    (c1, k1), _, (c3, k3) = KONJAC
    law = Gum(*law_from_readings((Fraction(c1), Fraction(k1)), (Fraction(c3), Fraction(k3))))
    factor = viscosity(law, Fraction(percent)) / Fraction(read)
    assert Fraction("0.99") < factor < 2
    assert Fraction("0.80") < dose_for(law, Fraction(read)) / Fraction(percent) < Fraction("1.01")
