"""Readings against what the other trials foretell of them: one panel a measure, bars of 95 %."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from html import escape

from optimiser.export.curve_svg import STYLE
from optimiser.export.plain import clean
from optimiser.trials.learning import Foretold, Lesson
from optimiser.units.numbers import DecimalMark, show_number

WIDTH, PANEL, LEFT, RIGHT, TOP, LOW = 720, 400, 84, 690, 52, 344
STEPS = (1, 2, 5)
WANTED = 6
BY_FACTOR = 5
"""Readings that span more than so many times are drawn by factors."""
MORE = ".curve .bar { stroke: var(--line); stroke-width: 1.5; } .curve .miss { fill: var(--ink); }"
OPEN = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="curve" viewBox="0 0 {} {}" role="img" '
    'aria-labelledby="spots-title spots-told">'
)
TITLE = "Each trial as the other trials foretell it"


def spots_svg(lesson: Lesson, decimal: DecimalMark = "point") -> str:
    """One drawing without script or anything from outside; all text is escaped."""
    measures = tuple(dict.fromkeys(one.measure for one in lesson.foretold))
    height = max(len(measures), 1) * PANEL + 10
    parts = [
        OPEN.format(WIDTH, height),
        f'<title id="spots-title">{TITLE}</title>',
        f'<desc id="spots-told">{_text(_in_words(lesson))}</desc>',
        f"<style>{STYLE}\n{MORE}</style>",
    ]
    for number, measure in enumerate(measures):
        own = [one for one in lesson.foretold if one.measure == measure]
        parts += [f'<g transform="translate(0 {number * PANEL})">', *_panel(own, decimal), "</g>"]
    return "\n".join((*parts, "</svg>\n"))


def _in_words(lesson: Lesson) -> str:
    inside = sum(one.inside for one in lesson.foretold)
    return (
        f"{inside} of {len(lesson.foretold)} readings lie in the 95 % interval foretold without their trial."
    )


class _Scale:
    """From a value to a place on paper, by factors where the readings span many."""

    def __init__(self, values: Sequence[float]) -> None:
        low, high = min(values), max(values)
        self.by_factor = low > 0 and high / low > BY_FACTOR
        low, high = self._on(low), self._on(high)
        by = (high - low) * 0.06 or 1.0
        self.low, self.high = low - by, high + by

    def _on(self, value: float) -> float:
        return math.log10(max(value, 1e-12)) if self.by_factor else value

    def at(self, value: float, start: int, end: int) -> float:
        return start + (end - start) * (self._on(value) - self.low) / (self.high - self.low)

    def marks(self) -> list[float]:
        if self.by_factor:
            tens = range(math.floor(self.low), math.ceil(self.high) + 1)
            every = [step * 10.0**ten for ten in tens for step in STEPS]
            return [one for one in every if self.low <= math.log10(one) <= self.high]
        span = self.high - self.low
        size = 10.0 ** (math.floor(math.log10(span)) - 1)
        step = next(size * by * ten for ten in (1, 10) for by in STEPS if span / (size * by * ten) <= WANTED)
        return [step * n for n in range(math.ceil(self.low / step), math.floor(self.high / step) + 1)]


def _panel(own: Sequence[Foretold], decimal: DecimalMark) -> list[str]:
    scale = _Scale([end for one in own for end in (*one.others, one.read)])
    name = own[0].measure if own[0].unit == "pH" else f"{own[0].measure}, {own[0].unit}"
    name = "pH" if own[0].measure == "ph" else name
    parts = [
        (
            f'<text x="{LEFT}" y="22">{_text(name)}: as read '
            '<tspan class="soft">(on the slanting line: as foretold)</tspan></text>'
        ),
        (
            f'<text x="{RIGHT}" y="{LOW + 42}" text-anchor="end">foretold by the other trials, '
            '<tspan class="soft">bar: 95 % of readings</tspan></text>'
        ),
        f'<line class="axis" x1="{LEFT}" x2="{RIGHT}" y1="{LOW}" y2="{LOW}"/>',
        f'<path class="jump" d="M{LEFT} {LOW}L{RIGHT} {TOP}"/>',
    ]
    for mark in scale.marks():
        up, across = scale.at(mark, LOW, TOP), scale.at(mark, LEFT, RIGHT)
        told = show_number(Fraction(repr(round(mark, 9))), 6, decimal=decimal)
        parts.append(f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{up:.1f}" y2="{up:.1f}"/>')
        parts.append(f'<text class="soft" x="{LEFT - 8}" y="{up + 4:.1f}" text-anchor="end">{told}</text>')
        parts.append(f'<text class="soft" x="{across:.1f}" y="{LOW + 20}" text-anchor="middle">{told}</text>')
    for one in own:
        value, low, high = (scale.at(end, LEFT, RIGHT) for end in one.others)
        up = scale.at(one.read, LOW, TOP)
        outside = "" if one.inside else ", outside"
        parts += [
            f'<line class="bar" x1="{low:.1f}" x2="{high:.1f}" y1="{up:.1f}" y2="{up:.1f}"/>',
            f'<circle class="{"dot" if one.inside else "miss"}" cx="{value:.1f}" cy="{up:.1f}" r="4"/>',
            (
                f'<text class="number" x="{value:.1f}" y="{up - 8:.1f}" text-anchor="middle">'
                f"{_text(one.trial)}{outside}</text>"
            ),
        ]
    return parts


def _text(text: str) -> str:
    return escape(clean(text), quote=True)
