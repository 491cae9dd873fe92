from __future__ import annotations

import math
import random

import pytest

from optimiser.statistics.calibrate import calibrate
from optimiser.statistics.stability import Line, Rate, alike, arrhenius, line_through, meets

T95 = {1: 6.3138, 2: 2.9200, 3: 2.3534, 4: 2.1318}
"""Student's t, 95 % on one side, by degrees of freedom: any printed table."""


def straight(points: list[tuple[float, float]]) -> Line:
    line = line_through(points)
    assert line is not None
    return line


def test_a_line_worked_by_hand() -> None:
    """Days 0, 1, 2, 3 and values 1, 3, 2, 4: slope 4/5, start 13/10, rest 9/5, across 5."""
    line = straight([(0, 1), (1, 3), (2, 2), (3, 4)])
    assert line.start == pytest.approx(1.3)
    assert line.slope == pytest.approx(0.8)
    assert line.scatter**2 == pytest.approx(0.9)
    assert line.slope_error**2 == pytest.approx(0.9 / 5)
    half = T95[2] * math.sqrt(0.9 * (1 / 4 + 1.5**2 / 5))
    assert line.bound(3, upper=True) == pytest.approx(3.7 + half, rel=1e-4)
    assert line.bound(0, upper=False) == pytest.approx(1.3 - half, rel=1e-4)


@pytest.mark.parametrize("seed", range(8))
def test_the_bound_stands_on_the_limit_where_they_meet(seed: int) -> None:
    dice = random.Random(seed)
    points = [(float(day), 5.0 - 0.004 * day + dice.gauss(0, 0.02)) for day in (0, 30, 60, 90, 120, 180)]
    line = straight(points)
    days = meets(line, 4.0, upper=False)
    assert days is not None
    assert line.bound(days, upper=False) == pytest.approx(4.0, abs=1e-6)
    assert all(line.bound(days * part / 50, upper=False) >= 4.0 - 1e-9 for part in range(50))
    assert days < (line.start - 4.0) / -line.slope
    mirrored = straight([(day, -value) for day, value in points])
    assert meets(mirrored, -4.0, upper=True) == pytest.approx(days)


def test_no_scatter_is_the_plain_crossing_and_outside_is_nought() -> None:
    line = straight([(0, 5.0), (50, 4.9), (100, 4.8)])
    assert meets(line, 4.5, upper=False) == pytest.approx(250)
    assert meets(line, 5.5, upper=True) is None
    assert meets(line, 5.1, upper=False) == 0.0


def test_too_few_readings_make_no_line() -> None:
    assert line_through([(0, 1), (1, 2)]) is None
    assert line_through([(3, 1), (3, 2), (3, 2.5)]) is None


def test_batches_that_differ_are_told_and_those_that_do_not_are_not() -> None:
    dice = random.Random(4)

    def batch(slope: float, start: float) -> list[tuple[float, float]]:
        return [(float(d), start + slope * d + dice.gauss(0, 0.01)) for d in (0, 30, 60, 90, 120)]

    assert alike({"a": batch(-0.002, 5)}) == (1.0, 1.0)
    assert alike({"a": batch(-0.002, 5), "b": batch(-0.008, 5)})[0] < 0.05
    assert alike({"a": batch(-0.002, 5), "b": batch(-0.002, 5.3)})[1] < 0.05


def at_rates(energy: float, celsius: tuple[float, ...], scatter: float = 0.0) -> dict[float, Line]:
    """Lines whose slopes follow Arrhenius, 0.001 a day at 25 °C."""
    found = {}
    for at in celsius:
        rate = 0.001 * math.exp(-energy / 8.314462618e-3 * (1 / (at + 273.15) - 1 / 298.15))
        dice = random.Random(round(at))
        points = [(float(d), 5 - rate * d + dice.gauss(0, scatter)) for d in (0, 14, 28, 56, 84)]
        found[at] = straight(points)
    return found


def test_an_activation_energy_is_found_again() -> None:
    rate = arrhenius(at_rates(80.0, (30.0, 40.0, 50.0)), 25.0)
    assert isinstance(rate, Rate)
    assert rate.energy == pytest.approx(80.0, rel=1e-6)
    assert rate.per_day == pytest.approx(0.001, rel=1e-6)


def test_a_rate_over_temperature_is_refused_where_the_data_do_not_carry_it() -> None:
    assert "it needs three" in str(arrhenius(at_rates(80.0, (40.0, 50.0)), 25.0))
    assert "stands out" in str(arrhenius(at_rates(80.0, (20.0, 40.0, 50.0), scatter=0.2), 25.0))
    lines = at_rates(80.0, (30.0, 40.0, 50.0), scatter=0.0005)
    rising = straight([(0, 5.0), (14, 5.1), (28, 5.2), (56, 5.4)])
    assert "rises at one" in str(arrhenius({**lines, 50.0: rising}, 25.0))
    assert "no faster" in str(arrhenius(at_rates(-40.0, (30.0, 40.0, 50.0)), 25.0))
    bent = {**lines, 50.0: straight([(0, 5.0), (14, 4.0), (28, 3.0), (56, 1.0)])}
    assert "do not lie on one straight line" in str(arrhenius(bent, 25.0))


def test_least_squares_with_a_prior_by_hand() -> None:
    """One unknown read once with error 0.5 of the prior's: 4/5 of the way, a fifth of the variance."""
    found = calibrate(lambda at: [(at[0] - 2.0) / 0.5], 1)
    assert found.at[0] == pytest.approx(1.6, abs=1e-3)
    assert found.left(0) == pytest.approx(0.2, abs=1e-3)
    assert found.told(0)


def test_the_sum_of_two_unknowns_tells_neither() -> None:
    found = calibrate(lambda at: [(at[0] + at[1] - 1.0) / 0.1], 2)
    assert found.mixed_up(0)
    assert found.mixed_up(1)
    assert found.partners(0) == (1,)
    both = calibrate(lambda at: [(at[0] + at[1] - 1.0) / 0.1, (at[0] - 0.7) / 0.1], 2)
    assert both.told(0)
    assert both.told(1)
    assert both.at[1] == pytest.approx(0.3, abs=0.02)


def test_no_reading_leaves_the_prior() -> None:
    found = calibrate(lambda _at: [], 2)
    assert found.at == (0.0, 0.0)
    assert found.left(1) == pytest.approx(1.0)
    assert not found.mixed_up(0)
