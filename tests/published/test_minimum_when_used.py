"""A variable that is nought or between 1.1 and 10.

lp_solve reference guide, semi-continuous variables; HiGHS' own tests print the optima below, to six digits.
Maximise x1 + 2 x2 + c x3 - 3 x4.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.model.rows import Model
from tests.models import Limit, model, row, var
from tests.published.core import optimum


def sample(c: str, low: str | None, high: str | None, *, whole: bool = False, used: Limit = 1) -> Model:
    """`low`, `high`: the range of x3 when used; None for no such rows."""
    rows = [
        row("c1", {"x1": 1, "x2": 1}, None, 5),
        row("c2", {"x1": 2, "x2": -1}, 0),
        row("c3", {"x1": -1, "x2": 3}, 0),
        row("c4", {"x3": 1, "x4": 1}, "0.5"),
    ]
    if low is not None:
        rows.append(row("least", {"x3": 1, "used": f"-{low}"}, 0))
    if high is not None:
        rows.append(row("most", {"x3": 1, "used": f"-{high}"}, None, 0))
    variables = [
        var("x1"),
        var("x2"),
        var("x3", 0, None, "I" if whole else "C"),
        var("x4"),
        var("used", 0, used, "B"),
    ]
    return model("max", {"x1": 1, "x2": 2, "x3": c, "x4": -3}, variables, rows)


@pytest.mark.parametrize(
    ("case", "published"),
    [
        (sample("-0.1", "1.1", "10"), "8.22333"),
        (sample("-1", "1.1", "10"), "7.23333"),
        (sample("-4", "1.1", "1000"), "6.83333"),
        (sample("-0.1", "1.1", "10", whole=True), "8.13333"),
        (sample("-1", None, "10"), "7.83333"),
        (sample("-4", None, "10", used=0), "6.83333"),
    ],
)
def test_the_published_optimum(case: Model, published: str) -> None:
    """Published to six digits: half a unit of the last one."""
    assert abs(optimum(case) - Fraction(published)) <= Fraction(5, 10**6)


def test_a_plain_lower_limit_costs_more() -> None:
    """Published 3.93333 when x3 may not be nought."""
    plain = sample("-4", None, None).with_bounds({"x3": (Fraction("1.1"), Fraction(10))})
    assert abs(optimum(plain) - Fraction("3.93333")) <= Fraction(5, 10**6)
