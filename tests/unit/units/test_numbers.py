"""The number reader: exact, and asking where a mark can be read in two ways."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.units.numbers import DecimalMark, NumberFault, read_number, show_number


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("3.5", "point", "7/2"),
        ("3,5", "comma", "7/2"),
        ("0.1", "point", "1/10"),
        ("12.375", "point", "99/8"),
        ("0.001", "point", "1/1000"),
        ("0,001", "comma", "1/1000"),
        ("1,250.50", "point", "2501/2"),
        ("1.250,50", "comma", "2501/2"),
        ("1,000,000", "point", "1000000"),
        ("1 250.5", "point", "2501/2"),
        ("1\u2009000", "point", "1000"),
        ("1\u202f000,5", "comma", "2001/2"),
        ("\u22125", "point", "-5"),
        ("+5", "point", "5"),
        (".5", "point", "1/2"),
        ("1e-3", "point", "1/1000"),
        ("2.5E2", "point", "250"),
        (" 7 ", "point", "7"),
    ],
)
def test_reads_exactly(text: str, decimal: DecimalMark, value: str) -> None:
    assert read_number(text, decimal=decimal) == Fraction(value)


@pytest.mark.parametrize("decimal", ["point", "comma"])
@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "nan",
        "NaN",
        "inf",
        "-Infinity",
        "1e999",
        "1e-400",
        "0x10",
        "1_000",
        "5.",
        "5,",
        ".",
        ",",
        "-",
        "1 5",
        "1 00",
        "12 34",
        "5 %",
        "5 g",
        "--5",
        "1e",
        "e5",
        "05-Jan",
        "Jan-26",
        "2026-01-05",
        "5.1.2026",
        "01/05/2026",
        "1/2",
        "٣",
        "५",
        "1٣",
        "true",
        "9" * 50,
        "1..5",
        "1,,5",
        "1.2.3",
        "=1+1",
    ],
)
def test_refuses_what_is_no_number(text: str, decimal: DecimalMark) -> None:
    assert isinstance(read_number(text, decimal=decimal), NumberFault)


@pytest.mark.parametrize("decimal", ["point", "comma"])
@pytest.mark.parametrize("text", ["1.000", "1,000", "25.000", "-2,000"])
def test_a_round_thousand_is_asked_about(text: str, decimal: DecimalMark) -> None:
    fault = read_number(text, decimal=decimal)
    assert isinstance(fault, NumberFault)
    whole = text.lstrip("-")[: text.lstrip("-").index(text[-4])]
    assert fault.fix == f"write {whole} or {whole}000"


def test_three_digits_after_the_other_mark_are_asked_about() -> None:
    fault = read_number("1,250", decimal="point")
    assert isinstance(fault, NumberFault)
    assert fault.fix == "write 1.25 or 1250"
    other = read_number("1.250", decimal="comma")
    assert isinstance(other, NumberFault)
    assert other.fix == "write 1,25 or 1250"


def test_the_other_mark_is_named_with_the_number_to_write() -> None:
    fault = read_number("3,5", decimal="point")
    assert isinstance(fault, NumberFault)
    assert (fault.expected, fault.fix) == ("a number with the decimal point", "write 3.5")
    fault = read_number("1.250,50", decimal="point")
    assert isinstance(fault, NumberFault)
    assert fault.fix == "write 1250.50"


def test_a_date_is_told_apart() -> None:
    fault = read_number("05-Jan")
    assert isinstance(fault, NumberFault)
    assert "date" in fault.fix


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [
        ("1/3", 3, "0.333"),
        ("2/3", 2, "0.67"),
        ("5", 3, "5"),
        ("-1/2", 1, "-0.5"),
        ("-1/10000", 3, "0"),
        ("1/1000", 3, "0.001"),
        ("1250", 0, "1250"),
        ("5/2", 0, "2"),
        ("99/8", 3, "12.375"),
    ],
)
def test_shows(value: str, places: int, shown: str) -> None:
    assert show_number(Fraction(value), places) == shown


def test_shows_with_the_comma_and_all_places() -> None:
    assert show_number(Fraction(5, 2), 2, decimal="comma", trim=False) == "2,50"
