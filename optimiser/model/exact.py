"""Exact numbers as text: decimals where they are finite, `p/q` where they are not."""

from __future__ import annotations

import re
from fractions import Fraction

MAX_DIGITS = 400
MAX_EXPONENT = 400
_DECIMAL = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,9})?", re.ASCII)
_RATIO = re.compile(r"([+-]?\d+)/(\d+)", re.ASCII)


def parse_exact(text: str) -> Fraction | None:
    """A decimal (`1.5`, `-2e3`) or a ratio (`1/3`); None for anything else, NaN, infinities and monsters."""
    stripped = text.strip()
    if len(stripped) > 2 * MAX_DIGITS:
        return None
    if ratio := _RATIO.fullmatch(stripped):
        below = int(ratio[2])
        return Fraction(int(ratio[1]), below) if below else None
    if not _DECIMAL.fullmatch(stripped):
        return None
    _, _, exponent = stripped.lower().partition("e")
    if exponent and abs(int(exponent)) > MAX_EXPONENT:
        return None
    return Fraction(stripped)


def indecimal(value: Fraction) -> int:
    """The least whole number that makes the value a finite decimal when multiplied: 1 for 0.25, 3 for 1/6."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    return rest


def decimal_places(value: Fraction) -> int | None:
    """Places needed to write the value as a finite decimal, None when no number of places would do."""
    if indecimal(value) != 1:
        return None
    rest, twos, fives = value.denominator, 0, 0
    while rest % 2 == 0:
        rest //= 2
        twos += 1
    while rest % 5 == 0:
        rest //= 5
        fives += 1
    return max(twos, fives)


def exact_text(value: Fraction) -> str:
    """The value without loss: `12`, `-0.375` or `1/3`. Read back by `parse_exact`."""
    places = decimal_places(value)
    if places is None or places > MAX_DIGITS // 2:
        return f"{value.numerator}/{value.denominator}"
    return decimal_text(value, places)


def decimal_text(value: Fraction, places: int) -> str:
    """The value rounded half to even to `places` decimal places, all of them printed."""
    scaled = round(value * 10**places)
    sign = "-" if scaled < 0 else ""
    digits = str(abs(scaled)).rjust(places + 1, "0")
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"
