"""Corn and soybean meal, protein and fibre as shares of a free total.

H. A. Taha, Operations Research: An Introduction, example 2.2-2.
"""

from __future__ import annotations

from fractions import Fraction

from tests.published.core import load, solved


def test_the_cost_and_the_two_weights() -> None:
    """Published (memory): 470.6 lb, 329.4 lb, $437.64; the book sums rounded weights, so 0.01 on the cost."""
    report = solved(load("ozark"))
    assert report.objective is not None
    assert abs(report.objective - Fraction("437.64")) < Fraction(1, 100)
    assert report.values == {"corn": Fraction(8000, 17), "soybean_meal": Fraction(5600, 17)}
    assert round(report.values["corn"], 1) == Fraction("470.6")
    assert round(report.values["soybean_meal"], 1) == Fraction("329.4")
