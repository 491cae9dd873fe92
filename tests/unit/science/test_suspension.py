"""Krieger and Dougherty, alone and mixed, and its inverse."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.suspension import (
    Powder,
    fraction_for,
    fraction_term,
    mixture_viscosity,
    packing_from_reading,
    relative_viscosity,
    row_term,
    solid_volume,
    total_thickness,
)

SPHERES = Powder(Fraction("0.63"))
PLATES = Powder(Fraction("0.5"), Fraction(4))
CLOSE = Fraction(1, 10**11)


@pytest.mark.parametrize(
    ("packing", "shape", "phi", "times"),
    [
        ("0.63", "2.5", "0.1", "1.31"),
        ("0.63", "2.5", "0.2", "1.82"),
        ("0.63", "2.5", "0.3", "2.77"),
        ("0.63", "2.5", "0.4", "4.89"),
        ("0.63", "2.5", "0.5", "12.0"),
        ("0.63", "2.5", "0.55", "25.8"),
        ("0.58", "2.7", "0.1", "1.34"),
        ("0.58", "2.7", "0.2", "1.94"),
        ("0.58", "2.7", "0.3", "3.13"),
        ("0.58", "2.7", "0.4", "6.25"),
        ("0.58", "2.7", "0.5", "22.3"),
    ],
)
def test_computed_table(packing: str, shape: str, phi: str, times: str) -> None:
    found = relative_viscosity(Fraction(phi), Powder(Fraction(packing), Fraction(shape)))
    assert found is not None
    assert abs(found / Fraction(times) - 1) < Fraction("0.005")


@pytest.mark.parametrize("times", ["1", "1.5", "4", "100"])
def test_inverse(times: str) -> None:
    phi = fraction_for(Fraction(times), PLATES)
    found = relative_viscosity(phi, PLATES)
    assert found is not None
    assert abs(found / Fraction(times) - 1) < CLOSE


def test_packed_solid_has_no_thickness() -> None:
    assert relative_viscosity(Fraction("0.63"), SPHERES) is None
    assert mixture_viscosity([(SPHERES, Fraction("0.4")), (PLATES, Fraction("0.2"))]) is None


def test_no_powder_thickens_nothing() -> None:
    assert mixture_viscosity([]) == 1
    assert mixture_viscosity([(SPHERES, Fraction(0))]) == 1


def test_half_of_each() -> None:
    parts = [(powder, fraction_for(Fraction(6), powder) / 2) for powder in (SPHERES, PLATES)]
    found = mixture_viscosity(parts)
    assert found is not None
    assert abs(found / 6 - 1) < CLOSE


def test_row_is_zero_at_the_target() -> None:
    times = Fraction(5)
    phi = fraction_for(times, PLATES)
    solid = solid_volume(Fraction("2.62"), Fraction("0.1"))
    grams = Fraction(30)
    whole = grams * solid / phi
    water = whole - grams / Fraction("2.62")
    total = grams * row_term(PLATES, solid, 1 / Fraction("2.62"), times) + water * row_term(
        None, Fraction(0), Fraction(1), times
    )
    assert abs(total) < CLOSE
    by_fraction = grams * fraction_term(solid, 1 / Fraction("2.62"), phi) + water * fraction_term(
        Fraction(0), Fraction(1), phi
    )
    assert by_fraction == 0


def test_a_reading_gives_the_packing_back() -> None:
    times = relative_viscosity(Fraction("0.35"), PLATES)
    assert times is not None
    assert abs(packing_from_reading(Fraction("0.35"), times, Fraction(4)) - Fraction("0.5")) < CLOSE


def test_a_reading_that_no_packing_explains() -> None:
    with pytest.raises(ValueError, match="outside the ends"):
        packing_from_reading(Fraction("0.3"), Fraction("1.1"))


def test_paste_is_liquid_times_grains() -> None:
    assert total_thickness(Fraction(2), Fraction(6)) == 12
