"""Freezing point of glycerol in water, °C.

CoolProp 8.0, INCOMP::MGL (after Melinder). The cryoscopic law is ideal: 0.1 K off at 10 %, 0.5 at 20 %,
1.1 at 30 %.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.water_activity import Solute, freezing_point

GLYCEROL = Solute(Fraction("92.0938"))


@pytest.mark.parametrize(
    ("percent", "read", "within"), [(10, "-2.31", "0.1"), (20, "-5.55", "0.52"), (30, "-9.76", "1.12")]
)
def test_ideal_law(percent: int, read: str, within: str) -> None:
    found = freezing_point([(GLYCEROL, Fraction(percent))], Fraction(100 - percent))
    assert 0 < found - Fraction(read) <= Fraction(within)


@pytest.mark.parametrize(("percent", "read", "within"), [(10, "-2.31", "0.02"), (20, "-5.55", "0.26")])
def test_with_an_osmotic_coefficient(percent: int, read: str, within: str) -> None:
    """1.0 + 0.019 m, from memory."""
    molality = Fraction(percent) / GLYCEROL.molar_mass / Fraction(100 - percent) * 1000
    real = Solute(GLYCEROL.molar_mass, particles=1 + Fraction("0.019") * molality)
    found = freezing_point([(real, Fraction(percent))], Fraction(100 - percent))
    assert abs(found - Fraction(read)) <= Fraction(within)
