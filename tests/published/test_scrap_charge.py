"""A charge of 2000 lb from scrap bins with limits on six elements.

The worked example of IBM's Mathematical Programming System manuals, `examples/plan.mod` of GLPK.
"""

from __future__ import annotations

from fractions import Fraction

from tests.published.core import load, optimum


def test_the_cost_of_the_charge() -> None:
    """Published 296.2166065 (memory: the value GLPK's manual prints); exact 82052/277."""
    assert round(optimum(load("plan")), 7) == Fraction("296.2166065")
