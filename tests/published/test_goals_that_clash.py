"""Three audience goals and a budget that cannot all be met.

W. L. Winston, Operations Research: Applications and Algorithms, section 4.16 (goal programming).
"""

from __future__ import annotations

from fractions import Fraction

from tests.published.core import load, optimum, solved


def test_weighted_goals() -> None:
    """Published: 33.3333 with 13/3 and 10/3; only the budget is exceeded."""
    report = solved(load("burnit"))
    assert report.objective == Fraction(100, 3)
    assert (report.values["football"], report.values["soap"]) == (Fraction(13, 3), Fraction(10, 3))
    assert all(report.values[name] == 0 for name in ("s1_minus", "s2_minus", "s3_minus"))


def test_weighted_goals_in_whole_minutes() -> None:
    """Published: 40 with (4, 4)."""
    report = solved(load("burnit_integer"))
    assert report.objective == 40
    assert [report.values["football"], report.values["soap"]] == [4, 4]


def test_goals_by_rank_under_a_hard_budget() -> None:
    """Published (memory): the first two goals are met, the third is short by 5, at (6, 0)."""
    model = load("burnit").with_bounds({"s4_plus": (Fraction(0), Fraction(0))})
    short = []
    for goal in ("s1_minus", "s2_minus", "s3_minus"):
        least = optimum(model.with_cost({goal: Fraction(1)}, "min"))
        short.append(least)
        model = model.with_bounds({goal: (Fraction(0), least)})
    assert short == [0, 0, 5]
    last = solved(model.with_cost({"s3_minus": Fraction(1)}, "min"))
    assert [last.values["football"], last.values["soap"]] == [6, 0]
