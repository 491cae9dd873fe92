"""Oils bought, stored and blended to a hardness over six months.

H. P. Williams, Model Building in Mathematical Programming, section 12.1 "Food manufacture 1".
"""

from __future__ import annotations

from fractions import Fraction

from tests.published.core import load, optimum


def test_the_profit() -> None:
    """Published 107 842.59 (memory), to the penny; exact 2911750/27."""
    assert round(optimum(load("food1")), 2) == Fraction("107842.59")
