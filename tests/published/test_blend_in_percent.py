"""A blend in per cent with limits on protein, fat, fibre and salt.

A. Phillips, S. Mitchell, "A Blending Problem", case study in the documentation of PuLP.
"""

from __future__ import annotations

from fractions import Fraction

from tests.published.core import load, solved


def test_six_ingredients() -> None:
    """Published: beef 60 %, gel 40 %, 52 cents; exact."""
    report = solved(load("cat_food_full"))
    assert report.objective == Fraction("0.52")
    assert {name: value for name, value in report.values.items() if value} == {"BEEF": 60, "GEL": 40}


def test_two_ingredients() -> None:
    """Published: chicken 33.33 %, beef 66.67 %, 96 cents (cut after the cent: exact 29/30)."""
    report = solved(load("cat_food_two"))
    assert report.objective == Fraction(29, 30)
    assert [round(value, 2) for value in report.values.values()] == [Fraction("33.33"), Fraction("66.67")]
