"""Exact sparse linear algebra."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from optimiser.certify.linear import Factor, Vector, null_vector

Columns = list[Vector]


def columns_of(dice: random.Random, size: int) -> Columns:
    """Random columns, most with an entry on the diagonal."""
    numbers = (-5, -4, -3, -2, -1, 1, 2, 3, 4, 5)
    return [
        {
            i: Fraction(dice.choice(numbers), dice.randint(1, 4))
            for i in range(size)
            if dice.random() < 0.6 or i == j
        }
        for j in range(size)
    ]


def times(columns: Columns, x: Vector) -> Vector:
    found: Vector = {}
    for j, value in x.items():
        for i, coef in columns[j].items():
            found[i] = found.get(i, Fraction(0)) + coef * value
    return {i: value for i, value in found.items() if value}


@pytest.mark.parametrize("seed", range(20))
def test_solves_both_ways_through_column_changes(seed: int) -> None:
    dice = random.Random(seed)
    size = dice.randint(1, 7)
    columns = columns_of(dice, size)
    factor = Factor(columns)
    while factor.missing:
        columns = columns_of(dice, size)
        factor = Factor(columns)
    for _ in range(4):
        right = {i: Fraction(dice.randint(-3, 3)) for i in range(size)}
        wanted = {i: value for i, value in right.items() if value}
        assert times(columns, factor.solve(right)) == wanted
        y = factor.solve_transposed(right)
        products = {
            j: sum((v * y.get(i, 0) for i, v in column.items()), start=Fraction(0))
            for j, column in enumerate(columns)
        }
        assert {j: value for j, value in products.items() if value} == wanted
        new = {i: Fraction(dice.randint(-4, 4)) for i in range(size)}
        direction = factor.solve(new)
        if direction:
            place = min(direction)
            columns[place] = {i: v for i, v in new.items() if v}
            factor.replace(place, direction)


def test_a_singular_matrix_names_what_found_no_pivot() -> None:
    one = Fraction(1)
    assert Factor([{0: one, 1: one}, {0: one, 1: one}]).missing == ((1, 1),)


def test_null_vectors_are_exact_and_near_the_wish() -> None:
    third = Fraction(1, 3)
    rows = [{"x": Fraction(1), "y": Fraction(2)}, {"x": Fraction(3), "y": Fraction(6)}, {"z": Fraction(1)}]
    found = null_vector(rows, [Fraction(1), -third, Fraction(0)])
    assert found is not None
    assert found[0] + 3 * found[1] == 0
    assert found == [1, -third, 0]


def test_rows_without_a_dependency_have_no_null_vector() -> None:
    assert null_vector([{"x": Fraction(1)}, {"y": Fraction(1)}], [Fraction(1), Fraction(1)]) is None
