"""Powers, exponentials and roots as fractions of 15 digits, rounded to the side that is asked for."""

from __future__ import annotations

from collections.abc import Callable
from decimal import MAX_EMAX, MIN_EMIN, ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from functools import cache
from typing import Literal

Towards = Literal["near", "down", "up"]

DIGITS = 15
STEPS = 400
_WORK = Context(prec=50, Emax=MAX_EMAX, Emin=MIN_EMIN)
FINE = Context(prec=30, Emax=MAX_EMAX, Emin=MIN_EMIN)
"""For sums in decimals of which 15 digits are kept."""
FINE_ENOUGH = Decimal("1e-20")
_ROUNDING = {"near": ROUND_HALF_EVEN, "down": ROUND_FLOOR, "up": ROUND_CEILING}
_OTHER: dict[Towards, Towards] = {"near": "near", "down": "up", "up": "down"}
ZERO, ONE = Fraction(0), Fraction(1)


def power(base: Fraction, exponent: Fraction, towards: Towards = "near") -> Fraction:
    """base ** exponent for a base of at least 0 (0 only with a positive exponent)."""
    if not base and exponent > 0:
        return ZERO
    if base <= 0:
        raise ValueError(f"a power of {base}")
    return _fixed(_WORK.power(as_decimal(base), as_decimal(exponent)), towards)


def exp(value: Fraction, towards: Towards = "near") -> Fraction:
    """e ** value."""
    return _fixed(_WORK.exp(as_decimal(value)), towards)


def ln(value: Fraction, towards: Towards = "near") -> Fraction:
    """Natural logarithm of a number above 0."""
    if value <= 0:
        raise ValueError(f"a logarithm of {value}")
    return _fixed(_WORK.ln(as_decimal(value)), towards)


def ten_to(value: Fraction, towards: Towards = "near") -> Fraction:
    """10 ** value."""
    return power(Fraction(10), value, towards)


def opposite(towards: Towards) -> Towards:
    """The other side, for what stands under a fraction line or behind a minus."""
    return _OTHER[towards]


def fixed(value: Fraction, towards: Towards = "near", digits: int = DIGITS) -> Fraction:
    """The value with that many significant digits."""
    if not value:
        return ZERO
    return _fixed(as_decimal(value), towards, digits)


def where_it_falls_to(
    goal: Fraction, falling: Callable[[Fraction], Fraction], low: Fraction, high: Fraction
) -> Fraction:
    """The place between low and high where a falling function reaches the goal, but for 2e-15 of it.

    False position, its stale end halved, with a halving of the span every fourth step. Raises ValueError
    where the goal lies outside what the ends give.
    """
    above, below = falling(low) - goal, falling(high) - goal
    if not above >= 0 >= below:
        raise ValueError("the goal lies outside the ends")
    side, slack = ZERO, 2 * abs(goal) / 10**DIGITS
    if above <= slack:
        return fixed(low)
    for step in range(STEPS):
        middle = fixed(low + (high - low) * fixed(above / (above - below)), digits=DIGITS + 5)
        if step % 4 == 3 or not low < middle < high:
            middle = fixed((low + high) / 2, digits=DIGITS + 5)
        if not low < middle < high:
            break
        found = falling(middle) - goal
        if abs(found) <= slack:
            return fixed(middle)
        again, side = found * side > 0, found
        if found > 0:
            low, above, below = middle, found, below / 2 if again else below
        else:
            high, below, above = middle, found, above / 2 if again else above
    return fixed((low + high) / 2)


def as_decimal(value: Fraction) -> Decimal:
    """The value to 50 digits."""
    return _WORK.divide(Decimal(value.numerator), Decimal(value.denominator))


def _fixed(value: Decimal, towards: Towards, digits: int = DIGITS) -> Fraction:
    return Fraction(_rounding_to(digits, towards).plus(value))


@cache
def _rounding_to(digits: int, towards: Towards) -> Context:
    return Context(prec=digits, rounding=_ROUNDING[towards], Emax=MAX_EMAX, Emin=MIN_EMIN)
