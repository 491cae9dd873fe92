"""Strong salts: neutral, and as heavy as their ions."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.salts import STRONG, holds_soap, is_soap

WEIGHTS = {
    "Na+": "22.990",
    "K+": "39.098",
    "Mg2+": "24.305",
    "Cl-": "35.45",
    "SO4 2-": "96.056",
    "NO3-": "62.004",
}
"""g/mol by the abridged standard atomic weights (IUPAC commission): O 15.999, S 32.06, N 14.007."""
CHARGES = {"Na+": 1, "K+": 1, "Mg2+": 2, "Cl-": -1, "SO4 2-": -2, "NO3-": -1}


@pytest.mark.parametrize("name", STRONG)
def test_a_strong_salt_is_neutral_and_as_heavy_as_its_ions(name: str) -> None:
    mass, ions = STRONG[name]
    assert all(charge == CHARGES[ion] for ion, charge, _ in ions)
    assert sum(charge * count for _, charge, count in ions) == 0
    assert abs(sum(Fraction(WEIGHTS[ion]) * count for ion, _, count in ions) - mass) < Fraction("0.005")


@pytest.mark.parametrize(
    ("name", "soap", "held"),
    [
        ("Sodium Palmate", True, True),
        (" tea-stearate ", True, True),
        ("Sodium Chloride", False, False),
        ("Palmate", False, False),
        ("Glyceryl Stearate SE", False, True),
        ("Glyceryl Stearate", False, False),
    ],
)
def test_what_is_soap_and_what_holds_some(name: str, soap: bool, held: bool) -> None:
    assert (is_soap(name), holds_soap(name)) == (soap, held)
