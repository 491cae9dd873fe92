"""Shares rounded to whole numbers that keep their total, with the least total deviation.

M. L. Balinski, H. P. Young, "The Quota Method of Apportionment", American Mathematical Monthly 82 (1975)
701-730.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.model.rows import Model
from tests.models import model, row, var
from tests.published.core import solved


def rounding(quotas: list[Fraction], total: int) -> Model:
    names = range(len(quotas))
    rows = [row("total", {f"n{i}": 1 for i in names}, total, total)]
    rows += [
        row(f"off{i}", {f"n{i}": 1, f"up{i}": -1, f"down{i}": 1}, quota, quota)
        for i, quota in enumerate(quotas)
    ]
    variables = [
        *(var(f"n{i}", 0, total, "I") for i in names),
        *(var(f"up{i}") for i in names),
        *(var(f"down{i}") for i in names),
    ]
    return model("min", {f"{way}{i}": 1 for way in ("up", "down") for i in names}, variables, rows)


@pytest.mark.parametrize(
    ("votes", "seats", "published"),
    [
        ([5117, 4400, 162, 161, 160], 100, [51, 44, 2, 2, 1]),
        ([9061, 7179, 5259, 3319, 1182], 26, [9, 7, 5, 4, 1]),
    ],
)
def test_largest_remainders_deviate_least(votes: list[int], seats: int, published: list[int]) -> None:
    """Published: both roundings by largest remainder; they have the least sum of deviations, proved here."""
    quotas = [Fraction(seats * vote, sum(votes)) for vote in votes]
    report = solved(rounding(quotas, seats))
    assert [report.values[f"n{i}"] for i in range(5)] == published
    assert report.objective == sum(abs(n - q) for n, q in zip(published, quotas, strict=True))
