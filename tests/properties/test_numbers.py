"""What is shown reads back as the same number, whatever the mark."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from optimiser.units.numbers import DecimalMark, NumberFault, read_number, show_number
from optimiser.units.quantities import read_amount, read_percent

MARKS: st.SearchStrategy[DecimalMark] = st.sampled_from(["point", "comma"])
STEPS = st.integers(-(10**9), 10**9)


@given(STEPS, MARKS)
def test_a_shown_number_reads_back(steps: int, decimal: DecimalMark) -> None:
    value = Fraction(steps, 1000)
    assert read_number(show_number(value, 3, decimal=decimal), decimal=decimal) == value


@given(STEPS, MARKS)
def test_the_other_mark_never_reads_as_another_number(steps: int, decimal: DecimalMark) -> None:
    value = Fraction(steps, 1000)
    other: DecimalMark = "comma" if decimal == "point" else "point"
    answer = read_number(show_number(value, 3, decimal=decimal), decimal=other)
    assert isinstance(answer, NumberFault) or answer == value


@given(st.decimals(allow_nan=False, allow_infinity=False, places=6, min_value=-(10**9), max_value=10**9))
def test_decimal_text_is_read_exactly(number: object) -> None:
    text = f"{number:f}"
    assert read_number(text) == Fraction(text)


@given(st.fractions(-(10**6), 10**6), st.integers(0, 6))
def test_showing_rounds_by_less_than_half_a_step(value: Fraction, places: int) -> None:
    shown = read_number(show_number(value, places))
    assert isinstance(shown, Fraction)
    assert abs(shown - value) <= Fraction(1, 2 * 10**places)


@given(st.integers(1, 10**6), MARKS)
def test_a_thousand_grams_are_a_kilogram(steps: int, decimal: DecimalMark) -> None:
    kilos = show_number(Fraction(steps, 100), 2, decimal=decimal)
    assert read_amount(f"{kilos} kg", decimal) == Fraction(steps, 100) * 1000
    assert read_amount(f"{kilos} oz", decimal) == Fraction(steps, 100) * Fraction("28.349523125")
    assert read_percent(f"{kilos} %", decimal) == Fraction(steps, 100)
