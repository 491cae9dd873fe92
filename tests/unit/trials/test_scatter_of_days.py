"""A jar of a new day lies within what a fit over a few days foretells, as often as is said."""

from __future__ import annotations

import math
import random

import pytest

from optimiser.statistics.quantiles import one_sided
from optimiser.statistics.scheffe import Fit, Model, fit, predict
from optimiser.trials.fitting import scatter_of
from tests.effort import THOROUGH

BLENDS = [(1, 0, 0), (0, 1, 0), (0, 0, 1), (0.5, 0.5, 0), (0.5, 0, 0.5), (0, 0.5, 0.5)]
RUNS = 200 if THOROUGH else 120


@pytest.mark.parametrize(("days", "spread"), [(3, 0.0), (3, 1.0), (4, 0.4)])
def test_a_jar_of_a_new_day_is_above_its_bound_in_95_of_100(days: int, spread: float) -> None:
    dice = random.Random(f"{days} {spread}")
    model, held = Model(("a", "b", "c"), "linear"), 0
    for _ in range(RUNS):
        offs = [dice.gauss(0, spread) for _ in range(days)]
        points = [BLENDS[(2 * n + day) % 6] for day in range(days) for n in range(4)]
        names = [str(day) for day in range(days) for _ in range(4)]
        readings = [
            5 * p[0] + 3 * p[1] + 8 * p[2] + offs[int(day)] + dice.gauss(0, 0.2)
            for p, day in zip(points, names, strict=True)
        ]
        found = fit(model, points, readings, blocks=names)
        assert isinstance(found, Fit)
        scatter, freedom = scatter_of(found)
        told = predict(found, (0.4, 0.3, 0.3))
        bound = told.value - one_sided(freedom) * math.hypot(scatter, told.error or 0)
        held += 5 * 0.4 + 3 * 0.3 + 8 * 0.3 + dice.gauss(0, spread) + dice.gauss(0, 0.2) >= bound
    assert held >= 0.92 * RUNS
