"""A yes-or-no variable, a row that makes another one negative, and that one's lower limit.

Pyomo, tests of the minimal infeasible system finder (`contrib/iis`): x binary, y >= 0, y <= 100x, y <=
-100x, x >= 0.5.
"""

from __future__ import annotations

from fractions import Fraction

from optimiser.workflows.solve_model import solve_model
from tests.published.core import load, members, refuted, smallest


def test_the_lower_limit_of_y_is_part_of_it() -> None:
    """Published: the lower limit of y is in the minimal system. c1 is redundant and must not be."""
    model = load("pyomo_trivial").relaxed()
    found = smallest(model, members(model))
    assert set(found) == {("row", "c2", "upper"), ("row", "c3", "lower"), ("bound", "y", "lower")}


def test_the_sum() -> None:
    """c3 a hundred times, less c2, with y >= 0: 0 >= 50 in the multipliers 100, 1, 1."""
    proof = refuted(load("pyomo_trivial").relaxed())
    assert {(t.name, t.multiplier) for t in proof.terms} == {
        ("c2", Fraction(1)),
        ("c3", Fraction(100)),
        ("y", Fraction(1)),
    }
    assert proof.gap == 50


def test_the_whole_model_is_refuted_too() -> None:
    report = solve_model(load("pyomo_trivial"))
    assert (report.answer, report.certified) == ("infeasible", True)
