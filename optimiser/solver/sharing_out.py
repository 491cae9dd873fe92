"""The linear model behind the screening, its bound in safe floats, and the ways of sharing out newcomers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from optimiser.solver.columns import Array, Columns

ROUNDING = 2.0**-52
HALF = 1e-6
"""Less than this of a newcomer is none of it."""


@dataclass(frozen=True, slots=True)
class Bounded:
    """`bound`: no answer is below it; `rise`: by how much it rises with each newcomer there.

    `there` is how far the linear model has each newcomer there, `counts` how many of each group.
    `prices` are those of the model's rows, `duals` those of the linear model's. `impossible`: no answer,
    proved.
    """

    bound: float
    rise: Array
    there: Array
    counts: Array
    prices: Array
    duals: Array
    impossible: bool = False


@dataclass(frozen=True, slots=True)
class Way:
    """A way of sharing out: counts of the groups from `low` to `high`, and newcomers that are `out`."""

    low: Array
    high: Array
    out: Array


class Relaxation:
    """Two columns for each newcomer, at its least and at its most; one count for each group."""

    def __init__(self, columns: Columns) -> None:
        import numpy as np

        self._of = columns
        self.newcomers, self.groups, self.group = len(columns.newcomers), len(columns.groups), columns.group
        keep = np.ones(len(columns.low), dtype=bool)
        keep[columns.flag] = keep[columns.share] = False
        self._rest = np.flatnonzero(keep)
        self._rows = np.unique(columns.row)
        self._highs = self._made()

    def _entries(self, most: Array) -> tuple[Array, Array, Array]:
        """Rows, columns and values of the linear model; what falls on one place is to be added up."""
        import numpy as np

        of, rest, n, groups = self._of, self._rest, self.newcomers, self.groups
        width = len(of.low)
        place, owner = np.full(width, -1), np.full(width, -1)
        place[rest] = np.arange(len(rest))
        owner[of.flag] = owner[of.share] = np.arange(n)
        is_share = np.zeros(width, dtype=bool)
        is_share[of.share] = True
        row_at = np.full(len(of.row_low), -1)
        row_at[self._rows] = np.arange(len(self._rows))
        r, c, v = row_at[of.row], of.column, of.value
        plain, mine = place[c] >= 0, owner[c] >= 0
        who, shares = owner[c[mine]], is_share[c[mine]]
        at_least = v[mine] * np.where(shares, of.least[who], 1.0)
        at_most = v[mine] * np.where(shares, most[who], 1.0)
        start, count_row, everyone = len(rest), len(self._rows), np.arange(n)
        rows = np.concatenate((r[plain], r[mine], r[mine], count_row + of.group, count_row + of.group,
                               count_row + np.arange(groups)))  # fmt: skip
        cols = np.concatenate((place[c[plain]], start + who, start + n + who, start + everyone,
                               start + n + everyone, start + 2 * n + np.arange(groups)))  # fmt: skip
        vals = np.concatenate((v[plain], at_least, at_most, np.ones(2 * n), -np.ones(groups)))
        return rows, cols, vals

    def _made(self) -> Any:
        import highspy
        import numpy as np

        of, rest, n, groups = self._of, self._rest, self.newcomers, self.groups
        most = np.where(np.isfinite(of.most), of.most, 100.0)
        start, count_row = len(rest), len(self._rows)
        gone = (of.most < of.least) | (of.high[of.flag] < 1)
        upper = np.where(gone, 0.0, 1.0)
        sizes = np.bincount(of.group, minlength=groups).astype(float)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = start + 2 * n + groups, count_row + groups
        lp.col_cost_ = np.concatenate((of.cost[rest], of.cost[of.flag] + of.cost[of.share] * of.least,
                                       of.cost[of.flag] + of.cost[of.share] * most,
                                       np.zeros(groups)))  # fmt: skip
        lp.col_lower_ = np.concatenate((of.low[rest], np.zeros(2 * n + groups)))
        lp.col_upper_ = np.concatenate((of.high[rest], upper, upper, sizes))
        lp.row_lower_ = np.concatenate((of.row_low[self._rows], np.zeros(groups)))
        lp.row_upper_ = np.concatenate((of.row_high[self._rows], np.zeros(groups)))
        lp.offset_ = of.constant
        _fill(lp, *self._entries(most))
        self._sizes, self._upper = sizes, upper
        self._first = start + 2 * n
        highs = _quiet()
        highs.passModel(lp)
        return highs

    def all_ways(self) -> Way:
        import numpy as np

        return Way(np.zeros(self.groups), self._sizes, np.zeros(self.newcomers, dtype=bool))

    def bounded(self, way: Way) -> Bounded | None:
        """The bound of one way of sharing out; None where the solver says nothing."""
        import highspy
        import numpy as np

        self._hold(way)
        self._highs.run()
        status = self._highs.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            _, exists, ray = self._highs.getDualRay()
            if not exists:
                return None
            prices = np.array(ray)
            for sign in (1.0, -1.0):
                bound, rise = self._priced(sign * prices, way, costs=False)
                if bound > 0:
                    nowhere = np.zeros(self.newcomers)
                    return Bounded(np.inf, rise, nowhere, way.low, prices, prices, impossible=True)
            return None
        if status != highspy.HighsModelStatus.kOptimal:
            return None
        found = self._highs.getSolution()
        values = np.array(found.col_value)
        duals = np.array(found.row_dual)
        bound, rise = self._priced(duals, way)
        start = self._first - 2 * self.newcomers
        there = values[start : start + self.newcomers] + values[start + self.newcomers : self._first]
        worth = np.zeros(len(self._of.row_low))
        worth[self._rows] = duals[: len(self._rows)]
        return Bounded(bound, rise, there, values[self._first :], worth, duals)

    def bounded_again(self, found: Bounded, way: Way) -> Bounded:
        """What the same prices say now that limits of the columns have been drawn in."""
        bound, rise = self._priced(found.duals, way)
        return replace(found, bound=bound, rise=rise)

    def first_half(self, members: Array, found: Bounded) -> Array:
        """The members below what the linear model mixes, by the row its mix differs in most."""
        import numpy as np

        of = self._of
        mixed = np.flatnonzero(members & (found.there > HALF))
        weight = found.there[mixed] / found.there[mixed].sum()
        place = np.full(len(of.low), -1)
        place[of.share[mixed]] = np.arange(len(mixed))
        at = place[of.column]
        mine, at = at >= 0, at[at >= 0]
        worth: Array = np.zeros((len(mixed), len(of.row_low)))
        worth[at, of.row[mine]] = of.value[mine] * found.prices[of.row[mine]]
        told = int(np.ptp(worth, axis=0).argmax())
        here = of.row == told
        coef = np.zeros(len(of.low))
        coef[of.column[here]] = of.value[here]
        each = coef[of.share]
        below = members & (each <= float(weight @ each[mixed]))
        if below.any() and (members & ~below).any():
            return below
        alone = np.zeros(self.newcomers, dtype=bool)
        alone[mixed[0]] = True
        return alone

    def _hold(self, way: Way) -> None:
        import numpy as np

        start, n = self._first - 2 * self.newcomers, self.newcomers
        upper = np.where(way.out, 0.0, self._upper)
        low = np.concatenate((np.zeros(2 * n), way.low))
        high = np.concatenate((upper, upper, way.high))
        index = np.arange(start, self._first + self.groups, dtype=np.int32)
        self._highs.changeColsBounds(len(index), index, low, high)

    def _priced(self, prices: Array, way: Way, *, costs: bool = True) -> tuple[float, Array]:
        """The bound that any prices of the rows give, and its rise with each newcomer there."""
        import numpy as np

        of = self._of
        row: Array = np.zeros(len(of.row_low))
        row[self._rows] = prices[: len(self._rows)]
        group = prices[len(self._rows) :]
        with np.errstate(invalid="ignore"):
            limit: Array = np.where(row > 0, of.row_low, of.row_high)
        row = np.where(np.isfinite(limit), row, 0.0)
        limit = np.where(row == 0, 0.0, limit)
        cost = of.cost if costs else np.zeros(len(of.cost))
        width = len(cost)
        each = of.value * row[of.row]
        reduced = cost - np.bincount(of.column, each, minlength=width)
        size = np.abs(cost) + np.bincount(of.column, np.abs(each), minlength=width)
        size[of.flag] += np.abs(group[of.group])
        reduced[of.flag] -= group[of.group]
        length = np.bincount(of.column, minlength=width) + 4
        wrong = 4 * ROUNDING * length * size
        rest = self._rest
        with np.errstate(invalid="ignore"):
            alone = _least(reduced[rest], wrong[rest], of.low[rest], of.high[rest])
        there = (
            reduced[of.flag] - wrong[of.flag] + _least(reduced[of.share], wrong[of.share], of.least, of.most)
        )
        there = np.where(way.out | (self._upper == 0), np.inf, there)
        joined = np.minimum(there, 0.0)
        counted = _least(group, ROUNDING * np.abs(group), way.low, way.high)
        parts = np.concatenate((row * limit, alone, joined, counted, [of.constant if costs else 0.0]))
        total = float(parts.sum() - 4 * ROUNDING * len(parts) * np.abs(parts).sum())
        return total, there - joined


def _least(price: Array, wrong: Array, low: Array, high: Array) -> Array:
    """The least of price · x for x from `low` to `high`, the price being known up to `wrong`."""
    import numpy as np

    with np.errstate(invalid="ignore"):
        ends = np.minimum(
            np.where(low == 0, 0.0, np.minimum((price - wrong) * low, (price + wrong) * low)),
            np.where(high == 0, 0.0, np.minimum((price - wrong) * high, (price + wrong) * high)),
        )
    return np.where(np.isnan(ends), -np.inf, ends)


def _quiet() -> Any:
    import highspy

    highs = getattr(highspy, "_Highs", highspy.Highs)()
    for key, value in (("output_flag", False), ("threads", 1), ("random_seed", 0), ("parallel", "off")):
        highs.setOptionValue(key, value)
    return highs


def _fill(lp: Any, rows: Array, cols: Array, vals: Array) -> None:
    """The matrix by rows, entries of one place added up."""
    import highspy
    import numpy as np

    key = rows * lp.num_col_ + cols
    unique, back = np.unique(key, return_inverse=True)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.searchsorted(unique, np.arange(lp.num_row_ + 1) * lp.num_col_).astype(np.int32)
    lp.a_matrix_.index_ = (unique % lp.num_col_).astype(np.int32)
    lp.a_matrix_.value_ = np.bincount(back, vals, minlength=len(unique))
