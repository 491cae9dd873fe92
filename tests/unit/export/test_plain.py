"""Text without hidden marks, numbers without losses."""

from __future__ import annotations

import unicodedata
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.export.plain import HIDDEN, clean, decimal_text, quantity
from optimiser.export.provenance import short

F = Fraction


@given(st.text(max_size=60))
def test_cleaned_text_has_no_hidden_marks_and_one_line(text: str) -> None:
    cleaned = clean(text)
    assert not {unicodedata.category(mark) for mark in cleaned} & (HIDDEN | {"Zl", "Zp"})
    assert clean(cleaned) == cleaned


def test_direction_marks_go_and_words_stay_apart() -> None:
    assert clean("rose\u202e\u2066 clay\u200b\x00\r\nwhite\u2028kaolin\u00a0") == "rose clay white kaolin"
    assert clean("ملح وردي") == "ملح وردي"


@given(st.decimals(allow_nan=False, allow_infinity=False, places=9, min_value=-(10**9), max_value=10**9))
def test_a_decimal_comes_back_exactly(number: Decimal) -> None:
    assert F(decimal_text(F(number))) == F(number)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (F(0), "0"),
        (F(-1, 8), "-0.125"),
        (F(100), "100"),
        (F(2, 3), "0.666666666667"),
        (F(-1, 10**14 * 3), "0"),
    ],
)
def test_decimals_are_written_out(value: F, text: str) -> None:
    assert decimal_text(value) == text


def test_a_value_without_a_decimal_keeps_its_fraction() -> None:
    assert quantity(F(1, 3), "%") == {"value": "0.333333333333", "unit": "%", "fraction": "1/3"}
    assert quantity(F(1, 4), "%") == {"value": "0.25", "unit": "%"}
    assert quantity(None, "%") is None


def test_a_code_is_letters_and_figures_only() -> None:
    assert short('ab"}12;3 4c<d>5e6f7a8b') == "ab1234cd5e6f"
