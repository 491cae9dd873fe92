"""Roots inside a bracket: at its ends, across a jump, past a bad start, and in few steps."""

from __future__ import annotations

from math import exp, sqrt

import pytest

from optimiser.science.roots import falling_root, newton_root

FEW = 60
"""Halving alone needs 44 for a bracket of 10 and 1e-12."""


@pytest.mark.parametrize(("above", "root"), [(0.0, 0.0), (-1.0, 0.0), (4.0, 4.0), (5.0, 4.0)])
def test_a_function_of_one_sign_has_its_root_at_an_end(above: float, root: float) -> None:
    assert falling_root(lambda at: above - at, 0.0, 4.0, 1e-12) == root


@pytest.mark.parametrize(("low", "high"), [(0.0, 4.0), (1.0, 1.5), (-8.0, 2.0)])
def test_a_bent_function(low: float, high: float) -> None:
    asked = []

    def falling(at: float) -> float:
        asked.append(at)
        return 2 - at * abs(at)

    assert falling_root(falling, low, high, 1e-12) == pytest.approx(sqrt(2), abs=1e-11)
    assert len(asked) < FEW


@pytest.mark.parametrize("jump", [0.001, 1 / 3, 9.999])
def test_a_jump_is_found_and_not_sought_for_ever(jump: float) -> None:
    asked = []

    def falling(at: float) -> float:
        asked.append(at)
        return 1.0 if at < jump else -3.0

    assert falling_root(falling, 0.0, 10.0, 1e-9) == pytest.approx(jump, abs=1e-8)
    assert len(asked) < 3 * FEW


def test_near_enough_is_enough() -> None:
    asked = []

    def falling(at: float) -> float:
        asked.append(at)
        return 0.3 - at

    falling_root(falling, -1.0, 1.0, 0.5)
    assert len(asked) == 3


@pytest.mark.parametrize("guess", [-50.0, -1.0, 0.0, 0.4, 3.0, 5.0, 50.0])
def test_newton_comes_home_from_any_start(guess: float) -> None:
    """exp(-at) - 1/2: hardly any slope far up, so a step from there leaves the bracket."""
    asked = []

    def falling(at: float) -> tuple[float, float]:
        asked.append(at)
        return exp(-at) - 0.5, exp(-at)

    assert newton_root(falling, -1.0, 5.0, guess) == pytest.approx(0.6931471805599453, abs=1e-11)
    assert all(-1 < at < 5 for at in asked)
    assert asked[0] == (guess if -1 < guess < 5 else 2)
    assert len(asked) < 10


def test_newton_halves_where_there_is_no_slope() -> None:
    asked = []

    def step(at: float) -> tuple[float, float]:
        asked.append(at)
        return (1.0 if at < 1 / 3 else -1.0), 0.0

    assert newton_root(step, 0.0, 1.0, 0.9) == pytest.approx(1 / 3, abs=1e-11)
    assert len(asked) < FEW


@pytest.mark.parametrize("guess", [1.0, 3.0])
def test_newton_halves_where_a_step_leads_to_an_end(guess: float) -> None:
    asked = []

    def jump(at: float) -> tuple[float, float]:
        asked.append(at)
        return (3.0 if at < 2 else -3.0), 1.0

    assert newton_root(jump, 0.0, 4.0, guess) == pytest.approx(2, abs=1e-11)
    assert 0 not in asked
    assert 4 not in asked


def test_newton_stops_on_the_root() -> None:
    assert newton_root(lambda at: (1 - at, 1.0), 0.0, 4.0, 3.0) == 1
    assert newton_root(lambda at: (1 - at, 1.0), 0.0, 4.0, 1.0) == 1
