"""Where a curve through a series is least: the foot of a parabola with its interval, or why it is not told.

The interval is that of a ratio of two coefficients: E. C. Fieller, Some problems in interval estimation,
J. R. Stat. Soc. B 16 (1954) 175-185 (from memory). It is open where the bend is not sure: nothing is told
then.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Why = Literal["few", "flat", "falls", "rises", "upside down", "lopsided", "open low", "open high"]
FEWEST, FEWEST_PLACES = 4, 3
LOPSIDED = 0.01
"""Chance of a third power as large as this, below which the two sides are not the same."""
LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Foot:
    """The place of the least value and its 95 % interval, which lies between the ends of the series."""

    at: float
    low: float
    high: float
    scatter: float
    freedom: int


@dataclass(frozen=True, slots=True)
class NoFoot:
    """`falls` or `rises`: over the whole series, so that the least lies beyond its end. `open low` or `open
    high`: the interval runs past that end. `at` is the best guess of the place, None where there is none."""

    why: Why
    at: float | None = None


def foot(places: Sequence[float], values: Sequence[float], floor: float) -> Foot | NoFoot:
    """The least of a parabola through the series; `floor` is the least scatter that is believed."""
    import numpy as np
    from scipy.stats import t

    x, y = np.array(places, dtype=float), np.array(values, dtype=float)
    if len(x) < FEWEST or len(set(np.round(x, 6))) < FEWEST_PLACES:
        return NoFoot("few", float(x[int(np.argmin(y))]) if len(x) else None)
    middle = float(x.mean())
    away = [place - middle for place in places]
    table = np.vander(np.array(away), 3, increasing=True)
    spread = np.linalg.inv(table.T @ table)
    a = spread @ table.T @ y
    freedom = len(x) - 3
    scatter = max(math.sqrt(float(np.sum((y - table @ a) ** 2)) / freedom), floor)
    b, c = float(a[1]), float(a[2])
    times = float(t.ppf((1 + LEVEL) / 2, freedom))
    bb, bc, cc = (times**2 * scatter**2 * float(spread[i][j]) for i, j in ((1, 1), (1, 2), (2, 2)))
    if c * c <= cc:
        return NoFoot(_slope(away, values, floor))
    if c < 0:
        return NoFoot("upside down")
    at = middle - b / (2 * c)
    low, high = sorted(middle + root for root in _roots(4 * (c * c - cc), 4 * (b * c - bc), b * b - bb))
    if at <= x.min() or at >= x.max():
        return NoFoot("rises" if at <= x.min() else "falls", at)
    if low < x.min() or high > x.max():
        return NoFoot("open low" if low < x.min() else "open high", at)
    if _lopsided(away, values, floor):
        return NoFoot("lopsided", at)
    return Foot(at, low, high, scatter, freedom)


def _roots(a: float, b: float, c: float) -> tuple[float, float]:
    root = math.sqrt(max(b * b - 4 * a * c, 0.0))
    return (-b - root) / (2 * a), (-b + root) / (2 * a)


def _slope(x: Sequence[float], y: Sequence[float], floor: float) -> Why:
    """What a straight line says where no bend is sure."""
    chance, slope = _last(x, y, 1, floor)
    return "flat" if chance > 1 - LEVEL else "rises" if slope > 0 else "falls"


def _lopsided(x: Sequence[float], y: Sequence[float], floor: float) -> bool:
    places = len({round(place, 6) for place in x})
    return len(x) > 4 and places > 3 and _last(x, y, 3, floor)[0] < LOPSIDED


def _last(x: Sequence[float], y: Sequence[float], power: int, floor: float) -> tuple[float, float]:
    """(chance of a coefficient as large by scatter alone, the coefficient) of the highest power."""
    import numpy as np
    from scipy.stats import t

    table = np.vander(np.array(x), power + 1, increasing=True)
    spread = np.linalg.inv(table.T @ table)
    a = spread @ table.T @ np.array(y)
    freedom = len(x) - power - 1
    scatter = max(math.sqrt(float(np.sum((np.array(y) - table @ a) ** 2)) / freedom), floor)
    error = scatter * math.sqrt(float(spread[power][power]))
    return 2 * float(t.sf(abs(float(a[power])) / error, freedom)), float(a[power])
