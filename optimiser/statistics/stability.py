"""How long readings over time stay within a limit: straight lines, and rates over temperature.

The time is where the one-sided 95 % confidence bound of the mean line meets the limit, as in ICH Q1E; jars of
several batches count as one where neither their slopes nor their starts differ at a level of 0.25 (ICH Q1E,
from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

LEVEL, POOL, SIGNIFICANT = 0.95, 0.25, 0.05
LEAST_POINTS, LEAST_TEMPERATURES = 3, 3
ZERO_C = 273.15
GAS = 8.314462618e-3
"""kJ/(mol K), CODATA 2018."""
Points = Sequence[tuple[float, float]]
"""(days, value)."""


@dataclass(frozen=True, slots=True)
class Line:
    """value = start + slope * days; `scatter` is the standard error of one reading, `across` the sum of
    squares of days about `middle`; `chance` that a slope so far from 0 is none."""

    start: float
    slope: float
    slope_error: float
    scatter: float
    count: int
    middle: float
    across: float
    chance: float

    @property
    def freedom(self) -> int:
        return self.count - 2

    def at(self, days: float) -> float:
        return self.start + self.slope * days

    def bound(self, days: float, *, upper: bool) -> float:
        """The one-sided 95 % confidence bound of the mean line."""
        half = (
            _students(self.freedom)
            * self.scatter
            * math.sqrt(1 / self.count + (days - self.middle) ** 2 / self.across)
        )
        return self.at(days) + (half if upper else -half)


def line_through(points: Points) -> Line | None:
    """The line of least squares; None with fewer than three readings or all on one day."""
    if len(points) < LEAST_POINTS or len({days for days, _ in points}) < 2:
        return None
    from scipy.stats import linregress

    days, values = [p[0] for p in points], [p[1] for p in points]
    found = linregress(days, values)
    start, slope = float(found.intercept), float(found.slope)
    middle = sum(days) / len(days)
    rest = sum((value - start - slope * day) ** 2 for day, value in points)
    across = sum((day - middle) ** 2 for day in days)
    scatter = math.sqrt(rest / (len(points) - 2))
    chance = float(found.pvalue) if math.isfinite(float(found.pvalue)) else 1.0
    return Line(start, slope, scatter / math.sqrt(across), scatter, len(points), middle, across, chance)


def meets(line: Line, limit: float, *, upper: bool) -> float | None:
    """Days at which the bound first leaves the limit: 0 where it starts outside, None where it never does.

    (start + slope t - limit)² = (t95 s)² (1/n + (t - middle)²/across), solved for t.
    """
    sign = 1.0 if upper else -1.0
    if sign * (line.bound(0.0, upper=upper) - limit) > 0:
        return 0.0
    width = (_students(line.freedom) * line.scatter) ** 2
    off = line.start - limit
    a = line.slope**2 - width / line.across
    b = 2 * (line.slope * off + width * line.middle / line.across)
    c = off**2 - width * (1 / line.count + line.middle**2 / line.across)
    for days in sorted(_roots(a, b, c)):
        tried = sign * (line.bound(days + 1e-6 * max(days, 1.0), upper=upper) - limit)
        if days >= 0 and tried > 0:
            return days
    return None


def _roots(a: float, b: float, c: float) -> list[float]:
    if abs(a) < 1e-300:
        return [-c / b] if b else []
    inside = b * b - 4 * a * c
    if inside < 0:
        return []
    q = -(b + math.copysign(math.sqrt(inside), b)) / 2
    return [q / a, *([c / q] if q else [])]


def alike(batches: Mapping[str, Points]) -> tuple[float, float]:
    """Chances that slopes, and then starts, of the batches differ by scatter alone (1 for one batch)."""
    if len(batches) < 2:
        return 1.0, 1.0
    import numpy as np
    from statsmodels.api import OLS

    names = sorted(batches)
    rows = [(names.index(name), day, value) for name in names for day, value in batches[name]]
    values = np.array([row[2] for row in rows])
    days = np.array([row[1] for row in rows])
    apart = np.array([[float(row[0] == at) for at in range(len(names))] for row in rows])
    if len(rows) <= 2 * len(names):
        return 0.0, 0.0
    full = OLS(values, np.hstack([apart, apart * days[:, None]])).fit()
    same_slope = OLS(values, np.hstack([apart, days[:, None]])).fit()
    same = OLS(values, np.column_stack([np.ones(len(rows)), days])).fit()
    return float(full.compare_f_test(same_slope)[1]), float(same_slope.compare_f_test(same)[1])


@dataclass(frozen=True, slots=True)
class Rate:
    """Speed of change at a temperature, units a day; `most` is its one-sided 95 % bound; kJ/mol."""

    per_day: float
    most: float
    energy: float
    energy_error: float


def arrhenius(lines: Mapping[float, Line], celsius: float) -> Rate | str:
    """ln(rate) as a straight line over 1/T, each rate by its own error; or why the data do not carry it."""
    if len(lines) < LEAST_TEMPERATURES:
        return f"readings at {len(lines)} temperature{'s' * (len(lines) != 1)}: it needs three"
    weak = [at for at, line in sorted(lines.items()) if line.chance > SIGNIFICANT]
    if weak:
        told = ", ".join(f"{at:g}" for at in weak)
        return f"at {told} °C no change stands out from the scatter"
    signs = {math.copysign(1.0, line.slope) for line in lines.values()}
    if len(signs) > 1:
        return "it rises at one temperature and falls at another"
    import numpy as np
    from scipy.stats import chi2, norm
    from statsmodels.api import WLS

    kelvin = np.array([at + ZERO_C for at in lines])
    speeds = np.array([abs(line.slope) for line in lines.values()])
    errors = np.array([max(line.slope_error / abs(line.slope), 1e-9) for line in lines.values()])
    place = 1 / kelvin - 1 / (celsius + ZERO_C)
    fitted = WLS(np.log(speeds), np.column_stack([np.ones(len(place)), place]), weights=errors**-2).fit(
        cov_type="fixed scale"
    )
    misfit = float(np.sum((fitted.resid / errors) ** 2))
    if float(chi2.sf(misfit, len(place) - 2)) < SIGNIFICANT:
        return "the rates do not lie on one straight line over 1/T: another thing happens when it is warm"
    middle, slope = (float(one) for one in fitted.params)
    error, slope_error = (float(one) for one in fitted.bse)
    if slope >= 0:
        return "it changes no faster when it is warmer"
    most = math.exp(middle + float(norm.ppf(LEVEL)) * error)
    return Rate(math.exp(middle), most, -slope * GAS, slope_error * GAS)


def _students(freedom: int) -> float:
    from optimiser.statistics.quantiles import one_sided

    return one_sided(freedom, LEVEL)
