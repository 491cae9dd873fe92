"""Small systems of equations in fractions: rank, the one solution, the one direction left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

Vector = tuple[Fraction, ...]
ZERO = Fraction(0)


def dot(a: Sequence[Fraction], b: Sequence[Fraction]) -> Fraction:
    return sum((x * y for x, y in zip(a, b, strict=True) if x and y), ZERO)


def echelon(rows: Iterable[Sequence[Fraction]]) -> tuple[list[list[Fraction]], list[int]]:
    """The reduced echelon form without empty rows, and the column of each row's leading one."""
    left = [list(row) for row in rows]
    done: list[list[Fraction]] = []
    leads: list[int] = []
    for column in range(len(left[0]) if left else 0):
        at = next((i for i, row in enumerate(left) if row[column]), None)
        if at is None:
            continue
        chosen = left.pop(at)
        chosen = [value / chosen[column] for value in chosen]
        done = [_less(row, chosen, column) for row in done]
        left = [_less(row, chosen, column) for row in left]
        done.append(chosen)
        leads.append(column)
    return done, leads


def _less(row: list[Fraction], chosen: list[Fraction], column: int) -> list[Fraction]:
    by = row[column]
    return [a - by * b for a, b in zip(row, chosen, strict=True)] if by else row


def rank(rows: Iterable[Sequence[Fraction]]) -> int:
    return len(echelon(rows)[1])


def only_solution(rows: Sequence[tuple[Vector, Fraction]], size: int) -> Vector | None:
    """x with a·x = b for every row (a, b); None where there is none or more than one."""
    done, leads = echelon([*a, b] for a, b in rows)
    return tuple(row[-1] for row in done) if leads == list(range(size)) else None


def only_direction(rows: Sequence[Vector], size: int) -> Vector | None:
    """d with a·d = 0 for every row where that leaves one line; None otherwise."""
    done, leads = echelon(rows)
    if len(leads) != size - 1:
        return None
    free = next(column for column in range(size) if column not in leads)
    out = [ZERO] * size
    out[free] = Fraction(1)
    for row, lead in zip(done, leads, strict=True):
        out[lead] = -row[free]
    return tuple(out)
