"""Two rules for solutes together: isopiestic (Zdanovskii, Stokes & Robinson), and Norrish with a mean K.

K averaged by mol. Glycerol (K 1.16) and sorbitol (K 1.65), water activity 0.97 to 0.80, in nine
proportions. K from memory.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.water_activity import WATER_PER_KG, Solute, alone, several_solutes, water_activity

GLYCEROL = Solute(Fraction("92.0938"), Fraction("1.16"))
SORBITOL = Solute(Fraction("182.1718"), Fraction("1.65"))
TENTHS = range(1, 10)


@pytest.mark.parametrize(
    ("activity", "within"),
    [("0.97", "0.0001"), ("0.90", "0.0001"), ("0.85", "0.0001"), ("0.81", "0.0001"), ("0.80", "0.00011")],
)
def test_the_rules_agree(activity: str, within: str) -> None:
    wanted = Fraction(activity)
    for tenths in TENTHS:
        first = alone(wanted, GLYCEROL) * tenths / 10
        second = alone(wanted, SORBITOL) * (10 - tenths) / 10
        other = several_solutes([(GLYCEROL, first), (SORBITOL, second)], WATER_PER_KG)
        assert abs(other - wanted) <= Fraction(within)


@pytest.mark.parametrize("tenths", TENTHS)
def test_the_isopiestic_mixture_has_the_activity_it_was_made_for(tenths: int) -> None:
    wanted = Fraction("0.9")
    parts = [
        (GLYCEROL, alone(wanted, GLYCEROL) * tenths / 10 * GLYCEROL.molar_mass),
        (SORBITOL, alone(wanted, SORBITOL) * (10 - tenths) / 10 * SORBITOL.molar_mass),
    ]
    found = water_activity(parts, Fraction(1000))
    assert found is not None
    assert abs(found - wanted) < Fraction(1, 10**12)
