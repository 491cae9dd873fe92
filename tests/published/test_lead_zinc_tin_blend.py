"""Nine alloys blended to 30 % lead, 30 % zinc, 40 % tin.

G. B. Dantzig, Linear Programming and Extensions (1963), chapter 3.4; model BLEND of the GAMS model library.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.core import load, optimum


@pytest.mark.parametrize("name", ["blend_with_mass_balance", "blend_without_mass_balance"])
def test_a_redundant_total_changes_nothing(name: str) -> None:
    """Published 4.98, exactly; the mass balance follows from the three elements."""
    assert optimum(load(name)) == Fraction("4.98")
