"""Three crudes, three streams, two fuels; how far prices can move.

SAS/OR User's Guide: Mathematical Programming, The LP Procedure, examples "An Oil Blending Problem" and
"Changes in the Objective Coefficients". All numbers below are printed there; compared exactly where they
are exact.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.solver.highs import ranges
from tests.published.core import load, optimum, solved


def test_the_profit_and_the_reduced_cost_at_an_upper_limit() -> None:
    """Published: profit 1544, reduced cost of light crude 11.6."""
    report = solved(load("oil"))
    assert report.objective == 1544
    assert report.reduced["a_light"] == Fraction("11.6")


def test_price_ranges() -> None:
    """Published: light crude may rise to 186.6, heavy crude has to fall to 143.55. In floats: 1e-6."""
    found = ranges(load("oil"))
    assert found is not None
    assert found.cost["a_light"][0] == pytest.approx(-186.6, abs=1e-6)
    assert found.cost["a_heavy"][1] == pytest.approx(-143.55, abs=1e-6)


def test_the_profit_at_the_end_of_the_range() -> None:
    """Published: 268 = 1544 - 110 x 11.6. Heavy crude comes in just below its price, not above."""
    model = load("oil")
    cost = dict(model.cost)
    assert optimum(model.with_cost({**cost, "a_light": Fraction("-186.6")})) == 268
    below = solved(model.with_cost({**cost, "a_heavy": Fraction("-143.54")}))
    above = solved(model.with_cost({**cost, "a_heavy": Fraction("-143.56")}))
    assert below.values["a_heavy"] > 0
    assert above.values["a_heavy"] == 0
