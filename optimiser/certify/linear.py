"""Exact sparse linear algebra: a factored square matrix that takes column changes, and null vectors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

Vector = dict[int, Fraction]


@dataclass(frozen=True, slots=True)
class _Step:
    row: int
    column: int
    pivot: Fraction
    below: tuple[tuple[int, Fraction], ...]
    right: tuple[tuple[int, Fraction], ...]


class Factor:
    """A square matrix given by its columns (row → value), factored exactly.

    `missing` pairs rows and columns that found no pivot: the matrix is singular unless it is empty.
    """

    def __init__(self, columns: Sequence[Mapping[int, Fraction]]) -> None:
        self.size = len(columns)
        self.changes: list[tuple[int, Vector]] = []
        self._steps: list[_Step] = []
        self.missing = self._eliminate(columns)

    def _eliminate(self, columns: Sequence[Mapping[int, Fraction]]) -> tuple[tuple[int, int], ...]:
        rows: dict[int, Vector] = {i: {} for i in range(self.size)}
        holders: list[set[int]] = [set() for _ in columns]
        for j, column in enumerate(columns):
            for i, value in column.items():
                rows[i][j] = value
                holders[j].add(i)
        open_columns = set(range(self.size))
        while picked := _pick(rows, holders, open_columns):
            self._pivot(*picked, rows, holders)
            open_columns.discard(picked[1])
        return tuple(zip(sorted(rows), sorted(open_columns), strict=True))

    def _pivot(self, row: int, column: int, rows: dict[int, Vector], holders: list[set[int]]) -> None:
        line = rows.pop(row)
        for j in line:
            holders[j].discard(row)
        pivot = line.pop(column)
        below = []
        for i in sorted(holders[column]):
            other = rows[i]
            factor = other.pop(column) / pivot
            below.append((i, factor))
            for j, value in line.items():
                left = other.get(j, 0) - factor * value
                if left:
                    other[j] = left
                    holders[j].add(i)
                elif j in other:
                    del other[j]
                    holders[j].discard(i)
        holders[column].clear()
        self._steps.append(_Step(row, column, pivot, tuple(below), tuple(line.items())))

    def replace(self, place: int, direction: Vector) -> None:
        """Column `place` becomes another one; `direction` is that one solved for."""
        self.changes.append((place, direction))

    def solve(self, right: Mapping[int, Fraction]) -> Vector:
        """x with matrix · x = right."""
        work = dict(right)
        for step in self._steps:
            value = work.get(step.row)
            if value:
                for i, factor in step.below:
                    work[i] = work.get(i, 0) - factor * value
        found: Vector = {}
        for step in reversed(self._steps):
            rest = work.get(step.row, Fraction(0))
            for j, coef in step.right:
                if j in found:
                    rest -= coef * found[j]
            if rest:
                found[step.column] = rest / step.pivot
        for place, direction in self.changes:
            if entered := found.pop(place, None):
                entered /= direction[place]
                for i, coef in direction.items():
                    if i != place:
                        found[i] = found.get(i, 0) - coef * entered
                found[place] = entered
        return {i: value for i, value in found.items() if value}

    def solve_transposed(self, right: Mapping[int, Fraction]) -> Vector:
        """y with y · matrix = right."""
        work = dict(right)
        for place, direction in reversed(self.changes):
            rest = work.get(place, Fraction(0))
            for i, coef in direction.items():
                if i != place and i in work:
                    rest -= coef * work[i]
            work[place] = rest / direction[place]
        found: Vector = {}
        for step in self._steps:
            value = work.get(step.column)
            if value:
                value = found[step.row] = value / step.pivot
                for j, coef in step.right:
                    work[j] = work.get(j, 0) - coef * value
        for step in reversed(self._steps):
            rest = found.pop(step.row, Fraction(0))
            for i, factor in step.below:
                if i in found:
                    rest -= factor * found[i]
            if rest:
                found[step.row] = rest
        return found


def _pick(rows: dict[int, Vector], holders: list[set[int]], open_columns: set[int]) -> tuple[int, int] | None:
    """The next pivot: a column or row with one entry if there is one, else the emptiest row and column."""
    best: tuple[int, int, int] | None = None
    for j in open_columns:
        if holders[j] and (best is None or (len(holders[j]), j) < best[:2]):
            best = (len(holders[j]), j, min(holders[j]))
            if best[0] == 1:
                return best[2], j
    if best is None:
        return None
    row = min((len(line), i) for i, line in rows.items() if line)[1]
    column = min(rows[row], key=lambda j: (len(holders[j]), j))
    return row, column


def null_vector(rows: Sequence[Mapping[str, Fraction]], wished: Sequence[Fraction]) -> list[Fraction] | None:
    """Multipliers y, near the wished ones, with Σ y · row = 0 exactly; None when only nought does.

    Multipliers that the equations leave free take the wished value; the others follow.
    """
    columns: dict[str, Vector] = {name: {} for row in rows for name in row}
    for i, row in enumerate(rows):
        for name, coef in row.items():
            if coef:
                columns[name][i] = coef
    solved: dict[int, Vector] = {}
    for name in sorted(columns):
        line = _reduced(columns[name], solved)
        if not line:
            continue
        lead = min(line, key=lambda i: (abs(wished[i]), i))
        pivot = line.pop(lead)
        line = {i: value / pivot for i, value in line.items()}
        for other in solved.values():
            if factor := other.pop(lead, None):
                _subtract(other, line, factor)
        solved[lead] = line
    if len(solved) == len(rows):
        return None
    return [
        -sum((value * wished[j] for j, value in solved[i].items()), start=Fraction(0))
        if i in solved
        else wished[i]
        for i in range(len(rows))
    ]


def _reduced(equation: Vector, solved: dict[int, Vector]) -> Vector:
    line = dict(equation)
    for lead in [i for i in equation if i in solved]:
        _subtract(line, solved[lead], line.pop(lead))
    return line


def _subtract(line: Vector, other: Vector, factor: Fraction) -> None:
    for i, value in other.items():
        if i not in line:
            line[i] = -factor * value
        elif left := line[i] - factor * value:
            line[i] = left
        else:
            del line[i]
