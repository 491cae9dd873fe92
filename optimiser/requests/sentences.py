"""Sentences of rules, made once when a rule is made."""

from __future__ import annotations

from fractions import Fraction


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


def first_upper(text: str) -> str:
    """With a capital, except where the word is written small, as pH is."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]
