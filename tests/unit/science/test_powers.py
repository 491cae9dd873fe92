"""Rounded powers and the root finder."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.powers import STEPS, exp, fixed, ln, power, ten_to, where_it_falls_to


def test_powers_are_rounded_to_the_side_asked_for() -> None:
    down, up = (power(Fraction(2), Fraction(1, 2), side) for side in ("down", "up"))
    assert down * down < 2 < up * up
    assert up - down == Fraction(1, 10**14)


def test_exact_where_it_is_exact() -> None:
    assert power(Fraction(4), Fraction(1, 2)) == 2
    assert ten_to(Fraction(-3)) == Fraction(1, 1000)
    assert power(Fraction(0), Fraction(3)) == 0
    assert exp(Fraction(0)) == 1
    assert fixed(Fraction(0)) == 0


@pytest.mark.parametrize("base", [Fraction(-1), Fraction(0)])
def test_no_power_of_nothing(base: Fraction) -> None:
    with pytest.raises(ValueError, match="a power of"):
        power(base, Fraction(-1))
    with pytest.raises(ValueError, match="a logarithm of"):
        ln(base)


def test_root_of_a_falling_function() -> None:
    found = where_it_falls_to(Fraction(5), lambda x: 7 - x * x, Fraction(0), Fraction(2))
    assert abs(found * found - 2) < Fraction(1, 10**13)


def test_root_outside_the_ends() -> None:
    with pytest.raises(ValueError, match="outside the ends"):
        where_it_falls_to(Fraction(8), lambda x: 7 - x, Fraction(0), Fraction(2))


def test_root_of_a_step_is_the_step() -> None:
    asked = []

    def step(at: Fraction) -> Fraction:
        asked.append(at)
        return Fraction(int(at < Fraction(1, 3)))

    found = where_it_falls_to(Fraction(1, 2), step, Fraction(0), Fraction(1))
    assert abs(found - Fraction(1, 3)) < Fraction(1, 10**12)
    assert len(asked) == len(set(asked)) < STEPS / 2
