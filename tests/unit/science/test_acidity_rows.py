from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.acidity_rows import (
    buffer_per_gram,
    charge_bounds_per_gram,
    charge_margin_per_gram,
    charge_per_gram,
    inner_levels,
    ion_strength_per_gram,
    strength_coefficient,
)
from optimiser.science.activity import DAVIES
from optimiser.science.charge import Buffer, ChargeProfile
from tests.solutions import solution

CLAY = ChargeProfile(
    buffers=(
        Buffer(
            (Fraction("0.02"), Fraction("0.06"), Fraction("0.18")),
            (Fraction("9.5"), Fraction(10), Fraction("10.5")),
        ),
    )
)
STRENGTH = Fraction(1, 10)


def test_the_levels() -> None:
    assert inner_levels(Fraction(3, 10)) == (Fraction(0), Fraction(1, 10), Fraction(3, 10))
    assert float(inner_levels(Fraction(1, 2))[2]) == pytest.approx(0.394, abs=0.002)


def test_a_powder_s_coefficient_is_its_line() -> None:
    assert float(charge_per_gram(CLAY, Fraction(5), STRENGTH)) == pytest.approx(0.3, abs=1e-14)


def test_an_acid_half_way_at_its_mixed_constant() -> None:
    acetic = solution({"acetic acid": 2})
    drop = Fraction(DAVIES.drop(0.1))
    found = charge_per_gram(acetic, Fraction("4.756") - drop, STRENGTH)
    assert float(found) == pytest.approx(-1, abs=1e-4)


@pytest.mark.parametrize("ph", ["4", "5.5", "7"])
def test_rounding_goes_outward_in_the_fifteenth_digit(ph: str) -> None:
    mixture = solution({"citric acid": "0.3", "arginine": "0.1"}, "0.2")
    down, middle, up = (
        charge_per_gram(mixture, Fraction(ph), STRENGTH, rounding=way) for way in ("down", "nearest", "up")
    )
    assert down < middle < up
    assert up - down < Fraction(1, 10**13)
    assert (10**20 * middle).denominator == 1


def test_bounds_of_an_acid_are_at_the_ends_of_the_strength() -> None:
    """Up to 0.39 mol/kg the coefficients only fall; from there to 0.5 they rise again by little."""
    citric = solution({"citric acid": 1})
    least, most = charge_bounds_per_gram(citric, Fraction(5))
    assert float(most) == pytest.approx(float(charge_per_gram(citric, Fraction(5), Fraction(0))), abs=1e-5)
    assert least == pytest.approx(charge_per_gram(citric, Fraction(5), Fraction("0.39")), abs=1e-4)
    assert least <= charge_per_gram(citric, Fraction(5), Fraction("0.5"))


def test_bounds_take_the_ends_of_a_powder() -> None:
    least, most = charge_bounds_per_gram(CLAY, Fraction(5), low_end="low", high_end="high")
    assert float(least) == pytest.approx(0.02 * 4.5)
    assert float(most) == pytest.approx(0.18 * 5.5)


def test_the_margin_is_the_wider_side() -> None:
    assert float(charge_margin_per_gram(CLAY, Fraction(5))) == pytest.approx(0.18 * 5.5 - 0.3)
    assert charge_margin_per_gram(solution({"citric acid": 1}), Fraction(5)) == 0


def test_strength_of_a_salt_and_its_row() -> None:
    salt = solution({}, 0, 1)
    found = ion_strength_per_gram(salt, Fraction(7))
    assert float(found) == pytest.approx(1, abs=1e-6)
    assert strength_coefficient(found, salt, Fraction(3, 10)) == found - Fraction(3, 10)
    assert ion_strength_per_gram(CLAY, Fraction(7)) == 0


def test_buffer_of_acid_and_powder() -> None:
    assert float(buffer_per_gram(CLAY, Fraction(5))) == pytest.approx(0.06)
    acetic = solution({"acetic acid": 1})
    at = Fraction("4.756") - Fraction(DAVIES.drop(0.15))
    assert float(buffer_per_gram(acetic, at)) == pytest.approx(2.302585 / 4, rel=1e-3)
