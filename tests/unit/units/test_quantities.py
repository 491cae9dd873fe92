"""Amounts, shares and prices. Weights: ounce 28.349523125 g, pound 453.59237 g, and the US fluid ounce
29.5735295625 ml, all exact by definition (NIST Handbook 44, appendix C)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.units.numbers import DecimalMark, NumberFault
from optimiser.units.quantities import read_amount, read_percent, read_price, read_with_unit, split_unit


@pytest.mark.parametrize(
    ("text", "decimal", "grams"),
    [
        ("285 g", "point", "285"),
        ("1,5 kg", "comma", "1500"),
        ("1.5kg", "point", "1500"),
        ("500 mg", "point", "0.5"),
        ("8 oz", "point", "226.796185"),
        ("2 lb", "point", "907.18474"),
        ("3,5 g", "comma", "3.5"),
        ("1 250 g", "point", "1250"),
        ("1e3 g", "point", "1000"),
        ("1 G", "point", "1"),
        ("5 grams", "point", "5"),
        ("2 kilo", "point", "2000"),
    ],
)
def test_weights_are_exact(text: str, decimal: DecimalMark, grams: str) -> None:
    assert read_amount(text, decimal) == Fraction(grams)


@pytest.mark.parametrize(
    ("text", "grams"), [("250 ml", "225"), ("1 l", "900"), ("8 fl oz", "212.92941285"), ("2 cl", "18")]
)
def test_volumes_weigh_by_density(text: str, grams: str) -> None:
    assert read_amount(text, "point", density=Fraction(9, 10)) == Fraction(grams)


@pytest.mark.parametrize("text", ["250 ml", "1 l", "8 fl oz"])
def test_a_volume_without_density_asks_for_it(text: str) -> None:
    fault = read_amount(text, "point")
    assert isinstance(fault, NumberFault)
    assert "density" in fault.fix


@pytest.mark.parametrize(
    "text", ["5", "5 gg", "g", "-5 g", "", "nan g", "5 g / 100 g", "1,000 g", "5 m", "5 g g", "3,5 g"]
)
def test_refuses(text: str) -> None:
    assert isinstance(read_amount(text, "point"), NumberFault)


def test_a_bare_number_says_what_is_missing() -> None:
    fault = read_amount("5", "point")
    assert isinstance(fault, NumberFault)
    assert fault.fix == 'write "5 g" if grams are meant'
    assert read_amount("5", "point", default_unit="g") == 5


def test_percent() -> None:
    assert read_percent("5 %", "point") == 5
    assert read_percent("0,4%", "comma") == Fraction(2, 5)
    assert isinstance(read_percent("5", "point"), NumberFault)
    assert read_percent("5", "point", bare=True) == 5
    assert isinstance(read_percent("5 g", "point"), NumberFault)


def test_units_of_their_own() -> None:
    assert read_with_unit("0.9 g/g", "point", "g/g") == Fraction(9, 10)
    assert read_with_unit("5.5", "point", "pH") == Fraction(11, 2)
    assert read_with_unit("5.5", "point", "-") == Fraction(11, 2)
    assert isinstance(read_with_unit("5.5 %", "point", "-"), NumberFault)


@pytest.mark.parametrize(
    ("text", "price"),
    [
        ("9.50 EUR/kg", "9.5"),
        ("9.50 EUR / kg", "9.5"),
        ("0.95 EUR/100 g", "9.5"),
        ("€9.50/kg", "9.5"),
        ("1 eur/g", "1000"),
    ],
)
def test_prices_per_kilogram(text: str, price: str) -> None:
    assert read_price(text, "point", "EUR") == Fraction(price)


@pytest.mark.parametrize(
    "text", ["9.50", "9.50 EUR", "9.50 USD/kg", "EUR/kg", "9.50 EUR/l", "9.50 EUR/0 g", "-1 EUR/kg", "/", ""]
)
def test_refuses_prices(text: str) -> None:
    assert isinstance(read_price(text, "point", "EUR"), NumberFault)


def test_number_and_unit_are_split_first() -> None:
    assert split_unit("3,5 g") == ("3,5", "g")
    assert split_unit("12 g / 100 g") == ("12", "g / 100 g")
    assert split_unit("g") is None
