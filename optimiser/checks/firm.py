"""A measure with a few of its numbers, whichever hurt most, at their worst; in exact fractions.

Every ingredient's number is one. Those whose worst moves the measure most are taken first, whole ones and
then a part of the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction

ZERO = Fraction(0)


def shaken(
    numbers: Iterable[tuple[Fraction, Fraction, Fraction]], off_at_once: Fraction
) -> tuple[Fraction, Fraction]:
    """(least, greatest) sum; `numbers` are what each ingredient adds: at least, in the middle, at most."""
    all_of = list(numbers)
    middle = sum((value for _, value, _ in all_of), ZERO)
    falls = [value - low for low, value, _ in all_of]
    rises = [high - value for _, value, high in all_of]
    return middle - _largest(falls, off_at_once), middle + _largest(rises, off_at_once)


def _largest(moves: list[Fraction], count: Fraction) -> Fraction:
    ordered = sorted(moves, reverse=True)
    whole = math.floor(count)
    part = ordered[whole] * (count - whole) if whole < len(ordered) else ZERO
    return sum(ordered[:whole], ZERO) + part
