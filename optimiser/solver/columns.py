"""A model as arrays, with each newcomer told apart: not there, or between its least and its most."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from optimiser.model.rows import Model
from optimiser.solver.interface import as_float

SAFE = 1e-9
"""Limits that are worked out lie outward by this part of themselves."""
ROUNDS = 3
Array = Any
"""A numpy array; numpy is imported where it is used."""


@dataclass(frozen=True, slots=True)
class Newcomer:
    """An ingredient that may enter: its yes-or-no variable, its one share, and the group it belongs to.

    `helpers` are variables that are nought where the ingredient is not there.
    """

    flag: str
    share: str
    group: str
    helpers: tuple[str, ...] = ()

    @property
    def variables(self) -> tuple[str, ...]:
        """All that goes with it."""
        return self.flag, self.share, *self.helpers


@dataclass(slots=True)
class Columns:
    """Entries `value` at (`row`, `column`) sorted by row, limits of rows and columns, and the cost.

    `flag` and `share` are the columns of the newcomers, `least` and `most` their shares once they are there.
    Rows that speak of one newcomer alone are in these, and not among the entries.
    """

    newcomers: tuple[Newcomer, ...]
    groups: tuple[str, ...]
    row: Array
    column: Array
    value: Array
    row_low: Array
    row_high: Array
    low: Array
    high: Array
    whole: Array
    cost: Array
    constant: float
    flag: Array
    share: Array
    group: Array
    least: Array
    most: Array

    @staticmethod
    def of(model: Model, newcomers: Sequence[Newcomer]) -> Columns | None:
        """None where the model has none of the newcomers, or the share of one is not nought without its flag.

        Raises SolverError for a number that no float can hold.
        """
        import numpy as np

        at = {var.name: i for i, var in enumerate(model.vars)}
        known = tuple(one for one in newcomers if one.flag in at and one.share in at)
        if not known:
            return None
        groups = tuple(sorted({one.group for one in known}))
        sizes = np.array([len(row.coef) for row in model.rows], dtype=np.int64)
        column = [at[name] for row in model.rows for name, _ in row.coef]
        value = [as_float(coef) for row in model.rows for _, coef in row.coef]
        cost = np.zeros(len(at))
        for name, coef in model.cost:
            cost[at[name]] = as_float(coef)
        made = Columns(
            newcomers=known,
            groups=groups,
            row=np.repeat(np.arange(len(model.rows)), sizes),
            column=np.array(column, dtype=np.int64),
            value=np.array(value),
            row_low=_limits((row.lower for row in model.rows), -np.inf),
            row_high=_limits((row.upper for row in model.rows), np.inf),
            low=_limits((var.lower for var in model.vars), -np.inf),
            high=_limits((var.upper for var in model.vars), np.inf),
            whole=np.array([var.kind != "C" for var in model.vars], dtype=bool),
            cost=cost,
            constant=as_float(model.constant),
            flag=np.array([at[one.flag] for one in known], dtype=np.int64),
            share=np.array([at[one.share] for one in known], dtype=np.int64),
            group=np.array([groups.index(one.group) for one in known], dtype=np.int64),
            least=np.zeros(len(known)),
            most=np.full(len(known), np.inf),
        )
        return made if made._take_own_rows() else None

    def _take_own_rows(self) -> bool:
        """Turns the rows of one newcomer alone into its least and most; whether each is nought without it."""
        import numpy as np

        owner = np.full(len(self.low), -1)
        owner[self.flag] = owner[self.share] = np.arange(len(self.newcomers))
        of = owner[self.column]
        rows = len(self.row_low)
        first, last = np.full(rows, len(owner)), np.full(rows, -2)
        np.minimum.at(first, self.row, of)
        np.maximum.at(last, self.row, of)
        own = (first == last) & (first >= 0)
        is_flag = self.column == self.flag[np.maximum(of, 0)]
        mine = own[self.row]
        on_flag = np.bincount(self.row[mine & is_flag], self.value[mine & is_flag], minlength=rows)
        on_share = np.bincount(self.row[mine & ~is_flag], self.value[mine & ~is_flag], minlength=rows)
        most_without = np.full(len(self.newcomers), np.inf)
        at_most, at_least = self.high[self.share].copy(), self.low[self.share].copy()
        for there, high, low in ((0.0, most_without, None), (1.0, at_most, at_least)):
            for limit, sign in ((self.row_high, 1.0), (self.row_low, -1.0)):
                told = own & np.isfinite(limit)
                slope, room = on_share[told], limit[told] - there * on_flag[told]
                who = first[told]
                with np.errstate(divide="ignore", invalid="ignore"):
                    ends = np.where(slope == 0, np.where(sign * room < -SAFE, -1.0, np.inf), room / slope)
                upward = (sign * slope > 0) | (slope == 0)
                np.minimum.at(high, who[upward], ends[upward])
                if low is not None:
                    np.maximum.at(low, who[~upward], ends[~upward])
        self.least, self.most = np.maximum(at_least, 0.0) * (1 - SAFE), at_most * (1 + SAFE)
        kept = ~own[self.row]
        self.row, self.column, self.value = self.row[kept], self.column[kept], self.value[kept]
        return bool((most_without <= 0).all() and (self.low[self.share] == 0).all())

    def tighten(self, ceiling: float | None = None) -> None:
        """Draws limits in as far as single rows allow, and the cost where no more than `ceiling` is asked."""
        import numpy as np

        if ceiling is not None:
            priced = np.flatnonzero(self.cost)
            row, column, value = (
                np.concatenate((self.row, np.full(len(priced), len(self.row_low)))),
                np.concatenate((self.column, priced)),
                np.concatenate((self.value, self.cost[priced])),
            )
            low = np.append(self.row_low, -np.inf)
            high = np.append(self.row_high, ceiling - self.constant)
        else:
            row, column, value, low, high = self.row, self.column, self.value, self.row_low, self.row_high
        self.high[self.share] = np.minimum(self.high[self.share], np.maximum(self.most, 0.0))
        for _ in range(ROUNDS):
            for sign, limit in ((1.0, high), (-1.0, -low)):
                self._draw_in(row, column, sign * value, limit)
        self.most = np.minimum(self.most, self.high[self.share])

    def _draw_in(self, row: Array, column: Array, value: Array, limit: Array) -> None:
        """Limits of columns from `Σ value · column <= limit` and the least that the others bring."""
        import numpy as np

        with np.errstate(invalid="ignore"):
            least = np.where(value > 0, value * self.low[column], value * self.high[column])
        endless = ~np.isfinite(least)
        least[endless] = 0.0
        count = len(limit)
        total = np.bincount(row, least, minlength=count)
        size = np.bincount(row, np.abs(least), minlength=count)
        loose = np.bincount(row, endless, minlength=count)
        told = np.isfinite(limit[row]) & (loose[row] - endless == 0) & (value != 0)
        r, c, v = row[told], column[told], value[told]
        room = limit[r] - (total[r] - least[told])
        room += SAFE * (np.abs(limit[r]) + size[r] + 1e-3)
        ends = room / v
        up = v > 0
        ends += np.where(up, SAFE, -SAFE) * (np.abs(ends) + 1e-3)
        new_high, new_low = self.high.copy(), self.low.copy()
        np.minimum.at(new_high, c[up], ends[up])
        np.maximum.at(new_low, c[~up], ends[~up])
        self.high = np.where(self.whole, np.floor(new_high + 1e-6), new_high)
        self.low = np.where(self.whole, np.ceil(new_low - 1e-6), new_low)


def _limits(limits: Iterable[Fraction | None], endless: float) -> Array:
    import numpy as np

    return np.array([endless if one is None else as_float(one) for one in limits], dtype=np.float64)
