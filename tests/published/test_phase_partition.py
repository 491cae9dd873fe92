"""Preservative that oil leaves in the water.

Bean, Heman-Ackah & Thomas 1965, J. Soc. Cosmet. Chem. 16:18, Table II: concentration in the water at oil to
water ratios 0.2 to 10, for 0.4 % phenol (K 0.067, liquid paraffin) and 1 % of a hypothetical preservative
(K 1). Second set: J. Soc. Cosmet. Chem. 23:716, Table VIII, 0.1 % methylparaben, K 0.02. Its other row (K
80) is left out: its first cell contradicts its own formula.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.preservation import Claim, Preservative, free

ROWS = [
    ("0.4", "0.067", "0.2", "0.474", "0.009"),
    ("0.4", "0.067", "1.0", "0.750", "0.009"),
    ("0.4", "0.067", "2.5", "1.199", "0.009"),
    ("0.4", "0.067", "5.0", "1.799", "0.009"),
    ("0.4", "0.067", "10", "2.636", "0.009"),
    ("1", "1", "0.2", "1.000", "0.009"),
    ("1", "1", "1.0", "1.000", "0.009"),
    ("1", "1", "2.5", "1.000", "0.009"),
    ("1", "1", "5.0", "1.000", "0.009"),
    ("1", "1", "10", "1.000", "0.009"),
    ("0.1", "0.02", "0.11", "0.11", "0.04"),
    ("0.1", "0.02", "0.25", "0.12", "0.04"),
    ("0.1", "0.02", "0.43", "0.14", "0.04"),
    ("0.1", "0.02", "0.66", "0.16", "0.04"),
    ("0.1", "0.02", "1.00", "0.20", "0.04"),
]


@pytest.mark.parametrize(("dose", "k", "ratio", "left", "within"), ROWS)
def test_concentration_in_the_water(dose: str, k: str, ratio: str, left: str, within: str) -> None:
    """`within`: 0.9 % of the figure; 4 % where the table has two digits only."""
    oil = Fraction(ratio)
    whole = Claim(water=Fraction(1), oil=oil)
    grams = Fraction(dose) * (1 + oil)
    found = free(grams, whole, Preservative(least=Fraction(1), k_oil=Fraction(k)), Fraction(1))
    assert abs(found / Fraction(left) - 1) <= Fraction(within)
