"""Sentences of rules, made once when a rule is made."""

from __future__ import annotations

import math
from fractions import Fraction

WHOLE = 100
MATTER = 4
"""Digits that matter of a number reckoned from the base; the exact one stands in the JSON."""


def number(value: Fraction) -> str:
    """Up to four decimals, no trailing zeros."""
    text = f"{float(round(value, 4)):.4f}".rstrip("0").rstrip(".")
    return text or "0"


def span(low: Fraction | None, high: Fraction | None, unit: str = "%") -> str:
    """`between 18 % and 30 %`, `at least 18 %`, `at most 30 %`, `exactly 5 %`."""
    tail = f" {unit}" if unit else ""
    if low is not None and high is not None:
        if low == high:
            return f"exactly {number(low)}{tail}"
        return f"between {number(low)}{tail} and {number(high)}{tail}"
    if low is not None:
        return f"at least {number(low)}{tail}"
    if high is not None:
        return f"at most {number(high)}{tail}"
    return "any amount"


def reckoned(low: Fraction | None, high: Fraction | None, unit: str = "%", *, written: str = "") -> str:
    """`span` of limits reckoned from the base, in the digits that matter.

    The least is cut and the most raised, so that nothing that holds stands outside of what is shown. A most
    above the whole is left out: it says nothing. `written`: the end ("low" or "high") that somebody wrote,
    which stays as it is.
    """
    if says_nothing(low, high, unit) and written != "high":
        high = None
    if low is not None and low == high:
        return span(low, high, unit)
    return span(low if written == "low" else cut(low), high if written == "high" else raised(high), unit)


def says_nothing(low: Fraction | None, high: Fraction | None, unit: str) -> bool:
    """Whether the most lies above the whole, beside a least."""
    return unit == "%" and low is not None and high is not None and high > WHOLE


def cut(limit: Fraction | None) -> Fraction | None:
    return None if limit is None else Fraction(math.floor(limit * _scale(limit)), _scale(limit))


def raised(limit: Fraction | None) -> Fraction | None:
    return None if limit is None else Fraction(math.ceil(limit * _scale(limit)), _scale(limit))


def about(value: Fraction) -> str:
    """In the digits that matter."""
    return number(Fraction(round(value * _scale(value)), _scale(value)))


def _scale(value: Fraction) -> int:
    whole = len(str(math.floor(abs(value)))) if abs(value) >= 1 else 0
    return int(10 ** max(MATTER - whole, 0))


def first_upper(text: str) -> str:
    """With a capital, except where the word is written small, as pH is."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]
