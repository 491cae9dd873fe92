"""Three crudes, three streams, two fuels; how far prices can move.

SAS/OR User's Guide: Mathematical Programming, The LP Procedure, examples "An Oil Blending Problem" and
"Changes in the Objective Coefficients". All numbers below are printed there; compared exactly where they
are exact.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.explain.ranging import Fine, piece, piece_of
from optimiser.explain.sides import Member
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


@pytest.mark.parametrize(
    ("crude", "price", "far", "slope", "until"),
    [("a_light", "175", "300", "-110", "186.6"), ("a_heavy", "165", "100", "0", "143.55")],
)
def test_a_price_holds_exactly_as_far_as_published(
    crude: str, price: str, far: str, slope: str, until: str
) -> None:
    """Published: the same ends, 186.6 and 143.55, here from solving again at moved prices, in fractions."""
    model, step = load("oil"), Fraction(1 if Fraction(far) > Fraction(price) else -1)

    def profit(at: Fraction) -> Fraction:
        return optimum(model.with_cost({**dict(model.cost), crude: -at}))

    found = piece(profit, Fraction(price), step, Fraction(far), Fine(Fraction(0), Fraction(0)))
    assert found is not None
    assert (found.slope, found.until, found.ends) == (Fraction(slope), Fraction(until), "bend")


def test_what_one_more_barrel_is_worth() -> None:
    """Published: the reduced cost 11.6 of light crude at its most of 110 is the price of that limit."""
    found = piece_of(load("oil"), Member("bound", "a_light", "upper"), Fraction(1), Fraction(200))
    assert found is not None
    assert found.slope == Fraction("11.6")
