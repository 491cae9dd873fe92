"""Two ingredients and a filler whose shares sum to 1.

Data set `Blending`, R package limSolve (K. Soetaert, K. Van den Meersche, D. van Oevelen), page Blending.Rd.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.core import load, optimum, solved


def test_the_published_shares() -> None:
    """Published to four decimals: 0.5909, 0.1364, 0.2727."""
    report = solved(load("filler_blend"))
    assert {name: float(value) for name, value in report.values.items()} == pytest.approx(
        {"Ingredient1": 0.5909, "Ingredient2": 0.1364, "Filler": 0.2727}, abs=5e-5
    )
    assert report.objective == Fraction(350, 11)


def test_how_far_each_share_can_move() -> None:
    """The page asks for these ranges; the exact ones follow from the rows by hand."""
    model = load("filler_blend")
    ranges = {
        name: tuple(optimum(model.with_cost({name: Fraction(1)}, sense)) for sense in ("min", "max"))
        for name in ("Ingredient1", "Ingredient2", "Filler")
    }
    half = Fraction(1, 2)
    assert ranges == {"Ingredient1": (half, 1), "Ingredient2": (0, half), "Filler": (0, Fraction(3, 11))}
