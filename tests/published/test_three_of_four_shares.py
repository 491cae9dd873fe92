"""Four shares that sum to 1, a required return, three shares at most, least variance.

A. S. Manne, GAMS/MINOS: Three Examples (1986); model ALAN of the GAMS library, instance alan of MINLPLib.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest

from optimiser.certify.linear import Factor, Vector
from optimiser.model.rows import Model
from optimiser.solver.highs import solve_milp
from tests.models import model, row, var

VARIANCE = [[4, 3, -1, 0], [3, 6, 1, 0], [-1, 1, 10, 0], [0, 0, 0, 0]]
RETURNS = [8, 9, 12, 7]
PUBLISHED = 2.925


def curved(x: list[Fraction]) -> Fraction:
    return sum((x[i] * VARIANCE[i][j] * x[j] for i in range(4) for j in range(4)), start=Fraction(0))


def stationary(support: tuple[int, ...]) -> list[Fraction] | None:
    """The exact least variance with just these shares, where sum and return hold and none is negative."""
    size = len(support)
    columns: list[Vector] = []
    for j in support:
        column = {k: Fraction(2 * VARIANCE[i][j]) for k, i in enumerate(support)}
        columns.append({**column, size: Fraction(1), size + 1: Fraction(RETURNS[j])})
    columns.append({k: Fraction(1) for k in range(size)})
    columns.append({k: Fraction(RETURNS[i]) for k, i in enumerate(support)})
    factor = Factor([{k: value for k, value in column.items() if value} for column in columns])
    if factor.missing:
        return None
    found = factor.solve({size: Fraction(1), size + 1: Fraction(10)})
    x = [Fraction(0)] * 4
    for k, i in enumerate(support):
        x[i] = found.get(k, Fraction(0))
    return x if min(x) >= 0 else None


def test_every_support_tried_exactly() -> None:
    """Published 2.925 at 0.375, 0, 0.525, 0.1; exact here."""
    supports = [s for size in (1, 2, 3) for s in itertools.combinations(range(4), size)]
    answers = [x for s in supports if (x := stationary(s)) is not None]
    best = min(answers, key=curved)
    assert curved(best) == Fraction("2.925")
    assert best == [Fraction("0.375"), 0, Fraction("0.525"), Fraction("0.1")]


def with_tangents(points: list[list[Fraction]]) -> Model:
    """Yes-or-no model: the variance is at least each of its tangents."""
    rows = [
        row("total", {f"x{i}": 1 for i in range(4)}, 1, 1),
        row("return", {f"x{i}": RETURNS[i] for i in range(4)}, 10, 10),
        row("three", {f"y{i}": 1 for i in range(4)}, None, 3),
    ]
    rows += [row(f"used{i}", {f"x{i}": 1, f"y{i}": -1}, None, 0) for i in range(4)]
    for k, x in enumerate(points):
        slope = [2 * sum((VARIANCE[i][j] * x[j] for j in range(4)), start=Fraction(0)) for i in range(4)]
        rows.append(row(f"tangent{k}", {"v": 1, **{f"x{i}": -slope[i] for i in range(4)}}, -curved(x)))
    variables = [
        *(var(f"x{i}", 0, 1) for i in range(4)),
        *(var(f"y{i}", 0, 1, "B") for i in range(4)),
        var("v"),
    ]
    return model("min", {"v": 1}, variables, rows)


def test_tangents_close_in_on_it_from_below() -> None:
    """Published 2.925: every relaxation stays below, the last within 1e-3, with at most three shares."""
    points = [[Fraction(1, 4)] * 4]
    for _ in range(40):
        found = solve_milp(with_tangents(points))
        assert found.objective is not None
        assert found.objective <= PUBLISHED + 1e-6
        points.append([Fraction(found.values[f"x{i}"]).limit_denominator(10**6) for i in range(4)])
    assert found.objective == pytest.approx(PUBLISHED, abs=1e-3)
    assert sum(found.values[f"x{i}"] > 1e-6 for i in range(4)) <= 3
