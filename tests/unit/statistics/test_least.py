"""Where a series is least: its interval, and what is refused."""

from __future__ import annotations

import random

import pytest

from optimiser.statistics.least import Foot, NoFoot, foot

SERIES = (6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0)


def curve(at: float, bend: float = 1.5, off: float = 0.0, seed: int = 1) -> list[float]:
    dice = random.Random(seed)
    return [4 + bend * (x - at) ** 2 + dice.gauss(0, off) for x in SERIES]


@pytest.mark.parametrize(("at", "off"), [(8.4, 1.0), (9.3, 2.0), (10.0, 1.0), (9.0, 4.0)])
def test_the_true_place_lies_in_its_interval_in_nine_of_ten_runs(at: float, off: float) -> None:
    answers = [foot(SERIES, curve(at, off=off, seed=seed), 0.1) for seed in range(200)]
    told = [one for one in answers if isinstance(one, Foot)]
    inside = sum(one.low <= at <= one.high for one in told)
    assert len(told) >= 100
    assert inside >= 0.9 * len(told)


def test_what_is_clean_is_found_where_it_is() -> None:
    found = foot(SERIES, curve(9.3), 0.5)
    assert isinstance(found, Foot)
    assert found.at == pytest.approx(9.3)
    assert found.low < 9.3 < found.high
    assert found.scatter == 0.5, "no scatter is believed below the floor"


@pytest.mark.parametrize(
    ("values", "why"),
    [
        (curve(14.0, 0.6), "falls"),
        (curve(3.0, 0.6), "rises"),
        ([2 * x for x in SERIES], "rises"),
        ([30 - 2 * x for x in SERIES], "falls"),
        ([10.0, 11.0, 9.5, 10.5, 9.0, 10.0, 10.5], "flat"),
        (curve(9.0, -1.5), "upside down"),
        (curve(11.9, 0.5, off=1.0), "open high"),
        (curve(6.1, 0.5, off=1.0), "open low"),
        ([8.0 * max(9 - x, 0) ** 2 + (x > 9) * 0.4 * (x - 9) ** 2 for x in SERIES], "lopsided"),
    ],
)
def test_what_does_not_tell_the_least_is_refused(values: list[float], why: str) -> None:
    found = foot(SERIES, values, 0.3)
    assert isinstance(found, NoFoot)
    assert found.why == why


def test_three_are_too_few() -> None:
    assert foot((8.0, 9.0, 10.0), (5.0, 1.0, 5.0), 0.1) == NoFoot("few", 9.0)
    assert foot((8.0, 9.0, 8.0, 9.0), (5.0, 1.0, 5.0, 1.0), 0.1) == NoFoot("few", 9.0)
