"""77 foods and nine nutrients at prices of August 1939.

G. J. Stigler, "The Cost of Subsistence", Journal of Farm Economics 27(2), 1945, 303-314. Optimum by J.
Laderman (1947) in G. B. Dantzig, Linear Programming and Extensions (1963), chapter 27.1. Variables are
dollars a day.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.core import load, optimum, solved

BASIS = {"flour", "liver", "cabbage", "spinach", "navybeans"}


@pytest.mark.parametrize("name", ["stigler77", "stigler77_whitebread15"])
def test_the_published_yearly_cost_and_basis(name: str) -> None:
    """Published: $39.66 a year of 365 days, $39.69 of 365.25, both to the cent; five foods in the basis.

    The second file has the other printed value of white bread, which is not eaten either way.
    """
    report = solved(load(name))
    assert report.objective is not None
    assert round(365 * report.objective, 2) == Fraction("39.66")
    assert round(report.objective * Fraction("365.25"), 2) == Fraction("39.69")
    assert {food for food, amount in report.values.items() if amount} == BASIS


def test_the_heuristic_diet_of_1945_cost_more() -> None:
    """Published: Stigler's own diet cost $39.93 a year."""
    assert 365 * optimum(load("stigler77")) < Fraction("39.93")


def test_five_nutrients_have_a_price_and_72_foods_are_too_dear() -> None:
    """Recomputed, not printed: the five active nutrients, whose exact duals pay for the whole diet."""
    model = load("stigler77")
    report = solved(model)
    priced = {name for name, dual in report.duals.items() if dual}
    assert priced == {"calories", "calcium", "vitaminA", "riboflavin", "ascorbicAcid"}
    assert sum(1 for food in report.values if report.reduced[food] > 0) == 72
    assert report.objective == sum(report.duals[r.name] * (r.lower or 0) for r in model.rows)
