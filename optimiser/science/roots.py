"""Roots of falling functions inside a bracket that always holds."""

from __future__ import annotations

from collections.abc import Callable

ROUNDS = 300


def newton_root(
    function: Callable[[float], tuple[float, float]],
    low: float,
    high: float,
    guess: float,
    tolerance: float = 1e-12,
) -> float:
    """The root of a falling function that gives (value, minus slope): Newton, else halving."""
    here = guess if low < guess < high else (low + high) / 2
    for _ in range(ROUNDS):
        value, fall = function(here)
        if value == 0:
            return here
        low, high = (here, high) if value > 0 else (low, here)
        there = here + value / fall if fall > 0 else low
        if not low < there < high:
            there = (low + high) / 2
        if abs(there - here) <= tolerance or high - low <= tolerance:
            return there
        here = there
    return here


def falling_root(function: Callable[[float], float], low: float, high: float, tolerance: float) -> float:
    """The root of a function that is not negative at `low` nor positive at `high`.

    Secant through the ends, the kept end halved (Illinois), and a plain halving every fourth round.
    """
    at_low, at_high = function(low), function(high)
    if at_low <= 0:
        return low
    if at_high >= 0:
        return high
    moved = ""
    for count in range(1, ROUNDS):
        here = (low * at_high - high * at_low) / (at_high - at_low)
        if count % 4 == 0 or not low < here < high:
            here = (low + high) / 2
        value = function(here)
        if abs(value) <= tolerance or high - low <= tolerance:
            return here
        if value > 0:
            at_high = at_high / 2 if moved == "low" else at_high
            low, at_low, moved = here, value, "low"
        else:
            at_low = at_low / 2 if moved == "high" else at_low
            high, at_high, moved = here, value, "high"
    return here
