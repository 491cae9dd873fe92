"""Where the lines of a pH curve stand on paper: coordinates for the drawing, and its words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from optimiser.export.make_up import FONT
from optimiser.export.sheet import CurvePoint, SheetCurve

__all__ = ["BOTTOM", "FONT", "HEIGHT", "LEFT", "RIGHT", "TOP", "WIDTH", "Drawing", "Tick", "draw"]
WIDTH, HEIGHT = 360, 168
LEFT, RIGHT, TOP, BOTTOM = 34, 332, 6, 134
MOST_TICKS = 7
Number = Callable[[Fraction, int], str]


@dataclass(frozen=True, slots=True)
class Tick:
    at: str
    text: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """Texts ready to stand in an SVG of `WIDTH` by `HEIGHT`; `lines` are the window, `aim` the target."""

    band: str
    middle: str
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    lines: tuple[Tick, ...]
    aim: Tick
    told: str


def draw(curve: SheetCurve, number: Number) -> Drawing:
    """`number` writes a value with so many decimals."""
    marks = (*(curve.window or ()), curve.target)
    floor = math.floor(min(*marks, *(point.low for point in curve.points)))
    ceiling = math.ceil(max(*marks, *(point.high for point in curve.points)))
    most = curve.points[-1].grams

    def x(grams: Fraction) -> str:
        return _place(LEFT + (RIGHT - LEFT) * grams / most)

    def y(ph: Fraction) -> str:
        return _place(BOTTOM - (BOTTOM - TOP) * (ph - floor) / (ceiling - floor))

    def path(points: Iterable[tuple[Fraction, Fraction]]) -> str:
        return " ".join(f"{x(grams)},{y(ph)}" for grams, ph in points)

    every = 1 if ceiling - floor < MOST_TICKS else 2
    return Drawing(
        band=path(
            (
                *((point.grams, point.high) for point in curve.points),
                *((point.grams, point.low) for point in reversed(curve.points)),
            )
        ),
        middle=path((point.grams, point.middle) for point in curve.points),
        across=tuple(Tick(x(row.grams), number(row.grams, curve.places)) for row in curve.rows),
        up=tuple(Tick(y(Fraction(one)), str(one)) for one in range(floor, ceiling + 1, every)),
        lines=tuple(Tick(y(one), number(one, 1)) for one in curve.window or ()),
        aim=Tick(y(curve.target), number(curve.target, 1)),
        told=_in_words(curve, number),
    )


def _in_words(curve: SheetCurve, number: Number) -> str:
    first, last = curve.points[0], curve.points[-1]
    window = (
        f" The window is pH {' to '.join(number(one, 1) for one in curve.window)}." if curve.window else ""
    )
    return (
        f"Predicted pH goes from {_spread(first, number)} with none to {_spread(last, number)} with "
        f"{number(last.grams, curve.places)} g.{window} The target is pH {number(curve.target, 1)}. "
        "The table holds the same numbers."
    )


def _spread(point: CurvePoint, number: Number) -> str:
    return f"{number(point.middle, 1)} ({number(point.low, 1)} to {number(point.high, 1)})"


def _place(value: Fraction) -> str:
    return f"{float(value):.1f}"
