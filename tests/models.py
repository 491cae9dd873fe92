"""Small linear models for tests, written in short."""

from __future__ import annotations

import random
from collections.abc import Mapping
from fractions import Fraction

from optimiser.model.rows import Kind, Model, Row, Sense, Var, linear

Number = int | str | Fraction
Limit = Number | None


def number(value: Limit) -> Fraction | None:
    return None if value is None else Fraction(value)


def var(name: str, lower: Limit = 0, upper: Limit = None, kind: Kind = "C") -> Var:
    return Var(name, number(lower), number(upper), kind)


def row(
    name: str, coef: Mapping[str, Number], lower: Limit = None, upper: Limit = None, rule: str = ""
) -> Row:
    exact = {key: Fraction(value) for key, value in coef.items()}
    return Row(name, linear(exact), number(lower), number(upper), rule)


def model(
    sense: Sense, cost: Mapping[str, Number], variables: list[Var], rows: list[Row], constant: Number = 0
) -> Model:
    exact = {key: Fraction(value) for key, value in cost.items()}
    return Model("test", tuple(variables), tuple(rows), linear(exact), sense, Fraction(constant))


def knapsack(seed: int, items: int, rows: int) -> Model:
    """A yes-or-no model that takes a solver some nodes."""
    dice = random.Random(seed)
    names = [f"x{i:02d}" for i in range(items)]
    return model(
        "max",
        {name: dice.randint(1, 1000) for name in names},
        [var(name, 0, 1, "B") for name in names],
        [
            row(f"r{k}", {name: dice.randint(1, 1000) for name in names}, None, 150 * items)
            for k in range(rows)
        ],
    )
