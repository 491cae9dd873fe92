"""Exact numbers as text."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.model.exact import decimal_text, exact_text, parse_exact


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.1", Fraction(1, 10)),
        ("-2.50", Fraction(-5, 2)),
        ("1e-3", Fraction(1, 1000)),
        ("+.5", Fraction(1, 2)),
        ("7.", Fraction(7)),
        ("1/3", Fraction(1, 3)),
        (" 12 ", Fraction(12)),
    ],
)
def test_reads_decimals_and_ratios_exactly(text: str, value: Fraction) -> None:
    assert parse_exact(text) == value


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nan",
        "NaN",
        "inf",
        "-Infinity",
        "1e999999",
        "1e401",
        "1e-99999999999",
        "1/0",
        "0x10",
        "1_000",
        "1,5",
        "²",
        "٣",
        "1 2",
        "--1",
        "1" * 900,
        "1.5/2",
    ],
)
def test_refuses_what_is_no_plain_number(text: str) -> None:
    assert parse_exact(text) is None


@pytest.mark.parametrize(
    "value", [Fraction(1, 3), Fraction(-7, 8), Fraction(10**30), Fraction(0), Fraction(-3, 10**9)]
)
def test_text_is_read_back_without_loss(value: Fraction) -> None:
    assert parse_exact(exact_text(value)) == value


def test_a_ratio_stays_a_ratio_and_a_decimal_a_decimal() -> None:
    assert [exact_text(Fraction(1, 3)), exact_text(Fraction(-3, 8)), exact_text(Fraction(20))] == [
        "1/3",
        "-0.375",
        "20",
    ]


def test_rounding_is_half_to_even_and_keeps_its_places() -> None:
    assert [
        decimal_text(Fraction(5, 1000), 2),
        decimal_text(Fraction(-15, 1000), 2),
        decimal_text(Fraction(3), 0),
    ] == [
        "0.00",
        "-0.02",
        "3",
    ]
