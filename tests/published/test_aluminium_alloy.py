"""An aluminium charge of 20 materials.

"Linear Programming - Aluminium Alloy Blending", IBM Data Processing Application; encoded by A. Makhorin as
`examples/alloy.mps` of GLPK, whose header states the optimum.
"""

from __future__ import annotations

from fractions import Fraction

from tests.published.core import load, optimum


def test_the_published_cost() -> None:
    """Published 2149.247891: all ten digits."""
    assert round(optimum(load("alloy")), 6) == Fraction("2149.247891")
