"""The curve as a drawing: axes with units, corners numbered as in the table, no meaning in colour alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from html import escape

from optimiser.domain.curve import Axis, Curve, CurvePoint, Spot
from optimiser.export.curve_words import figure, title, with_unit
from optimiser.export.plain import clean
from optimiser.units.numbers import DecimalMark, show_number

WIDTH, HEIGHT = 720, 430
LEFT, RIGHT, TOP, BOTTOM = 72, 690, 44, 368
MARGIN = Fraction(6, 100)
STEPS = (1, 2, 5)
APART = 15
OPEN = (
    f'<svg xmlns="http://www.w3.org/2000/svg" class="curve" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
    'aria-labelledby="curve-title curve-told">'
)
STYLE = """
svg.curve { --ink: #1d2522; --soft: #5d6863; --rule: #d5dbd8; --line: #1f5f4a; --paper: #ffffff;
  font-family: system-ui, "Segoe UI", "Helvetica Neue", Arial, sans-serif; background: var(--paper); }
@media (prefers-color-scheme: dark) { svg.curve { --ink: #e7ecea; --soft: #a3aeaa; --rule: #3a433f;
  --line: #7cc7ab; --paper: #161b19; } }
@media print { svg.curve { --ink: #000; --soft: #444; --rule: #bbb; --line: #000; --paper: #fff; } }
.curve text { fill: var(--ink); font-size: 12px; } .curve .soft { fill: var(--soft); }
.curve .grid { stroke: var(--rule); stroke-width: 1; } .curve .axis { stroke: var(--soft); stroke-width: 1; }
.curve .line { fill: none; stroke: var(--line); stroke-width: 2; stroke-linejoin: round; }
.curve .jump { stroke: var(--soft); stroke-width: 1; stroke-dasharray: 2 4; fill: none; }
.curve .dot { fill: var(--paper); stroke: var(--line); stroke-width: 2; }
.curve .base { fill: none; stroke: var(--ink); stroke-width: 1.5; } .curve .number { font-weight: 600; }
""".strip()


@dataclass(frozen=True, slots=True)
class _Scale:
    """From a value to a place on paper, with round marks."""

    low: Fraction
    high: Fraction
    start: int
    end: int

    def at(self, value: Fraction) -> float:
        return float(self.start + (self.end - self.start) * (value - self.low) / (self.high - self.low))

    def marks(self, whole: bool) -> tuple[Fraction, ...]:
        step = _step(self.high - self.low)
        step = max(step, Fraction(1)) if whole else step
        first = math.ceil(self.low / step)
        return tuple(step * n for n in range(first, math.floor(self.high / step) + 1))


def curve_svg(found: Curve, decimal: DecimalMark = "point", link: Callable[[int], str] | None = None) -> str:
    """One drawing without script or anything from outside; all text is escaped.

    With `link`, the address for the number of a corner, it is a part of a page: each corner leads there, and
    the colours are the page's own.
    """
    x, y = _scales(found)
    parts = [
        OPEN if link is None else OPEN.replace('role="img"', 'role="group"'),
        f'<title id="curve-title">{_text(_headline(found))}</title>',
        f'<desc id="curve-told">{_text(_in_words(found, decimal))}</desc>',
        "" if link else f"<style>{STYLE}</style>",
        *_axes(found, x, y, decimal),
        *_lines(found, x, y),
        *_base(found, x, y),
        *_dots(found, x, y, _linked(found, decimal, link) if link else None),
        "</svg>",
    ]
    return "\n".join(parts)


def _headline(found: Curve) -> str:
    return f"{found.request.name}: {title(found.first)} against {found.second.name}"


def _in_words(found: Curve, decimal: DecimalMark) -> str:
    if not found.points:
        return "No formula is shown."
    first, last = (_point_words(found, found.points[n], decimal) for n in (0, -1))
    return f"From {first} to {last}. The table holds the numbers."


def _point_words(found: Curve, point: CurvePoint, decimal: DecimalMark) -> str:
    one = f"{found.first.name} {figure(found.first, point.first, decimal)} {found.first.unit}".strip()
    two = f"{found.second.name} {figure(found.second, point.second, decimal)} {found.second.unit}".strip()
    return f"{one} with {two}"


def _linked(
    found: Curve, decimal: DecimalMark, link: Callable[[int], str]
) -> Callable[[CurvePoint, str], str]:
    """A corner that can be pressed: its own words, and room for a finger around it."""

    def linked(point: CurvePoint, dot: str) -> str:
        words = f"Formula {point.number}: {_point_words(found, point, decimal)}"
        touch = dot.replace('class="dot"', 'class="touch"').replace('r="4"', 'r="14"')
        return f'<a href="{_text(link(point.number))}" aria-label="{_text(words)}">{touch}{dot}</a>'

    return linked


def _scales(found: Curve) -> tuple[_Scale, _Scale]:
    spots = [*itertools.chain.from_iterable(found.pieces), *((p.first, p.second) for p in found.points)]
    if found.base[0] is not None and found.base[1] is not None:
        spots.append((found.base[0], found.base[1]))
    low_x, high_x = _room([spot[0] for spot in spots])
    low_y, high_y = _room([spot[1] for spot in spots])
    return _Scale(low_x, high_x, LEFT, RIGHT), _Scale(low_y, high_y, BOTTOM, TOP)


def _room(values: list[Fraction]) -> tuple[Fraction, Fraction]:
    low, high = (min(values), max(values)) if values else (Fraction(0), Fraction(1))
    by = (high - low) * MARGIN or max(abs(low) * MARGIN, Fraction(1))
    return low - by, high + by


def _step(span: Fraction) -> Fraction:
    """A round step that gives four to nine marks."""
    size = Fraction(10) ** (math.floor(math.log10(float(span))) - 1)
    return next(size * by * ten for ten in (1, 10) for by in STEPS if span / (size * by * ten) <= 8)


def _axes(found: Curve, x: _Scale, y: _Scale, decimal: DecimalMark) -> list[str]:
    up, across = (f"{_text(with_unit(axis))} {_wanted(axis)}" for axis in (found.second, found.first))
    parts = [
        f'<text x="{LEFT}" y="22">{up}</text>',
        f'<text x="{RIGHT}" y="{HEIGHT - 14}" text-anchor="end">{across}</text>',
    ]
    for mark in y.marks(found.second.whole):
        at = f"{y.at(mark):.1f}"
        parts.append(f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{at}" y2="{at}"/>')
        parts.append(_label(LEFT - 8, y.at(mark) + 4, _mark(mark, decimal), "end"))
    for mark in x.marks(found.first.whole):
        at = f"{x.at(mark):.1f}"
        parts.append(f'<line class="axis" x1="{at}" x2="{at}" y1="{BOTTOM}" y2="{BOTTOM + 5}"/>')
        parts.append(_label(x.at(mark), BOTTOM + 20, _mark(mark, decimal), "middle"))
    parts.append(f'<line class="axis" x1="{LEFT}" x2="{RIGHT}" y1="{BOTTOM}" y2="{BOTTOM}"/>')
    return parts


def _wanted(axis: Axis) -> str:
    return f'<tspan class="soft">({"more" if axis.more else "less"} is wanted)</tspan>'


def _mark(value: Fraction, decimal: DecimalMark) -> str:
    return show_number(value, 6, decimal=decimal, trim=True)


def _label(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text class="soft" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{text}</text>'


def _lines(found: Curve, x: _Scale, y: _Scale) -> list[str]:
    def place(spot: Spot) -> str:
        return f"{x.at(spot[0]):.1f},{y.at(spot[1]):.1f}"

    parts = []
    for before, after in itertools.pairwise(found.pieces):
        if place(before[-1]) != place(after[0]):
            middle = place((after[0][0], before[-1][1]))
            parts.append(f'<polyline class="jump" points="{place(before[-1])} {middle} {place(after[0])}"/>')
    lines = (" ".join(place(spot) for spot in piece) for piece in found.pieces if len(piece) > 1)
    return [*parts, *(f'<polyline class="line" points="{line}"/>' for line in lines)]


def _base(found: Curve, x: _Scale, y: _Scale) -> list[str]:
    if found.base[0] is None or found.base[1] is None:
        return []
    at, up = x.at(found.base[0]), y.at(found.base[1])
    anchor, by = ("end", -9) if at > (LEFT + RIGHT) / 2 else ("start", 9)
    return [
        f'<path class="base" d="M{at - 5:.1f} {up:.1f}h10M{at:.1f} {up - 5:.1f}v10"/>',
        f'<text class="soft" x="{at + by:.1f}" y="{up + 13:.1f}" text-anchor="{anchor}">base</text>',
    ]


def _dots(
    found: Curve, x: _Scale, y: _Scale, linked: Callable[[CurvePoint, str], str] | None = None
) -> list[str]:
    """Numbers stand up and to the side the curve leaves free; one too near to the last goes unnumbered."""
    aside = -9 if found.first.more else 9
    parts: list[str] = []
    last: tuple[float, float] | None = None
    for point in found.points:
        at, up = x.at(point.first), y.at(point.second)
        dot = f'<circle class="dot" cx="{at:.1f}" cy="{up:.1f}" r="4"/>'
        parts.append(linked(point, dot) if linked else dot)
        if last is None or math.hypot(at - last[0], up - last[1]) >= APART:
            anchor = "end" if found.first.more else "start"
            lift = 16 if found.second.more else -8
            parts.append(
                f'<text class="number" x="{at + aside:.1f}" y="{up + lift:.1f}" text-anchor="{anchor}">'
                f"{point.number}</text>"
            )
            last = at, up
    return parts


def _text(text: str) -> str:
    return escape(clean(text), quote=True)
