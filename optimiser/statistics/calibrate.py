"""Weighted least squares with priors: what readings say of unknown numbers, and what they cannot tell apart.

Every unknown is counted in its own prior: 0 is its middle, 1 one standard deviation. Residuals are
(foretold - read) in standard errors. The estimate makes the sum of all squares least (Gauss and Newton, steps
halved where they do not help); its covariance is that of the straight line there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

Residuals = Callable[[Sequence[float]], Sequence[float]]
STEP = 1e-4
CLOSE = 1e-3
"""A step so small, in standard errors of the prior, ends the search; the slopes before it are kept."""
LEAST = 1e-4
MOST_STEPS = 25
TOLD = 0.25
"""Largest part of the prior's variance that may be left in a number that counts as told."""
LEAST_PART = 0.1
"""A number that explains less of another's remaining variance is not named beside it."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """`at` and `covariance` in units of the prior; `slopes` are the residuals' (one row a reading)."""

    at: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    slopes: tuple[tuple[float, ...], ...]
    residuals: tuple[float, ...]
    settled: bool

    def left(self, one: int) -> float:
        """Part of its prior variance that is left."""
        return self.covariance[one][one]

    def told(self, one: int) -> bool:
        return self.left(one) <= TOLD

    def alone(self, one: int) -> float:
        """What would be left if everything else were known."""
        return 1 / (1 + sum(row[one] ** 2 for row in self.slopes))

    def mixed_up(self, one: int) -> bool:
        """The readings would tell it if all else were known, and do not because it is not."""
        return not self.told(one) and self.alone(one) <= TOLD

    def partners(self, one: int) -> tuple[int, ...]:
        """What it cannot be told from, the strongest first."""
        found = []
        for other in range(len(self.at)):
            part = self.covariance[one][other] ** 2 / self.left(one) / max(self.left(other), 1e-12)
            if other != one and part >= LEAST_PART:
                found.append((-part, other))
        return tuple(other for _, other in sorted(found))

    def variance(self, slopes: Sequence[float]) -> float:
        """Of a number that changes so with the unknowns."""
        size = range(len(self.at))
        return sum(slopes[i] * slopes[j] * self.covariance[i][j] for i in size for j in size)


def calibrate(residuals: Residuals, unknowns: int, start: Sequence[float] | None = None) -> Calibration:
    """The estimate from the prior and the residuals of all readings."""
    import numpy as np

    at = np.array(start if start is not None else [0.0] * unknowns, dtype=float)
    now = np.array(residuals(at.tolist()), dtype=float)
    settled, slopes = False, np.zeros((len(now), unknowns))
    for _ in range(MOST_STEPS):
        slopes = _slopes(residuals, at, now)
        step = np.linalg.solve(np.eye(unknowns) + slopes.T @ slopes, -(slopes.T @ now + at))
        at, now, moved = _halved(residuals, at, now, step)
        if moved < CLOSE:
            settled = True
            break
    covariance = np.linalg.inv(np.eye(unknowns) + slopes.T @ slopes)
    return Calibration(_tuple(at), _rows(covariance), _rows(slopes), _tuple(now), settled)


def _halved(residuals: Residuals, at: Any, now: Any, step: Any) -> tuple[Any, Any, float]:
    import numpy as np

    cost, part = now @ now + at @ at, 1.0
    while part > LEAST:
        there = at + part * step
        new = np.array(residuals(there.tolist()), dtype=float)
        if new @ new + there @ there <= cost:
            return there, new, float(np.max(np.abs(part * step), initial=0.0))
        part /= 2
    return at, now, 0.0


def _slopes(residuals: Residuals, at: Any, now: Any) -> Any:
    import numpy as np

    found = np.zeros((len(now), len(at)))
    for one in range(len(at)):
        there = at.copy()
        there[one] += STEP
        found[:, one] = (np.array(residuals(there.tolist()), dtype=float) - now) / STEP
    return found


def _tuple(values: Any) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def _rows(matrix: Any) -> tuple[tuple[float, ...], ...]:
    return tuple(_tuple(row) for row in matrix)
