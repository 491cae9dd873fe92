"""Readings against what the other trials foretell of them: one panel a measure, bars of 95 %."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from html import escape

from optimiser.export.curve_svg import STYLE
from optimiser.export.lesson_words import measure_name
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
LINE, LETTER = 12, 8
"""Height of a line and width of a letter, in the drawing's units."""
NONE = "No trial has another that speaks of the same numbers."
TITLE = "Each trial as the other trials foretell it"


def spots_svg(lesson: Lesson, decimal: DecimalMark = "point") -> str:
    """One drawing without script or anything from outside; all text is escaped."""
    shown = [one for one in lesson.foretold if one.by]
    measures = tuple(dict.fromkeys(one.measure for one in shown))
    height = len(measures) * PANEL + 10 if measures else TOP
    parts = [
        OPEN.format(WIDTH, height),
        f'<title id="spots-title">{TITLE}</title>',
        f'<desc id="spots-told">{_text(_in_words(lesson))}</desc>',
        f"<style>{STYLE}\n{MORE}</style>",
    ]
    if not measures:
        parts.append(f'<text x="{LEFT}" y="22">{NONE}</text>')
    for number, measure in enumerate(measures):
        own = [one for one in shown if one.measure == measure]
        parts += [f'<g transform="translate(0 {number * PANEL})">', *_panel(own, decimal), "</g>"]
    return "\n".join((*parts, "</svg>\n"))


def _in_words(lesson: Lesson) -> str:
    shown = [one for one in lesson.foretold if one.by]
    inside = sum(one.inside for one in shown)
    told = f"{inside} of {len(shown)} readings lie in the 95 % interval foretold without their trial."
    return told if shown else NONE


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
    name = measure_name(own[0]) if own[0].unit == "pH" else f"{own[0].measure}, {own[0].unit}"
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
    places: list[tuple[float, float, str]] = []
    for one in own:
        value, low, high = (scale.at(end, LEFT, RIGHT) for end in one.others)
        up = scale.at(one.read, LOW, TOP)
        parts += [
            f'<line class="bar" x1="{low:.1f}" x2="{high:.1f}" y1="{up:.1f}" y2="{up:.1f}"/>',
            f'<circle class="{"dot" if one.inside else "miss"}" cx="{value:.1f}" cy="{up:.1f}" r="4"/>',
        ]
        places.append((value, up, one.trial + ("" if one.inside else ", outside")))
    return [*parts, *_names(places)]


def _names(places: Sequence[tuple[float, float, str]]) -> list[str]:
    """Names above their spots; those that would stand on each other share a line, in the order of spots."""
    groups: list[list[tuple[float, float, str]]] = []
    for place in sorted(places):
        near = [
            group
            for group in groups
            if abs(group[0][1] - place[1]) < LINE
            and place[0] - group[-1][0] < LETTER * (len(group[-1][2]) + len(place[2])) / 2
        ]
        if near:
            near[0].append(place)
        else:
            groups.append([place])
    made = []
    for group in groups:
        across, up = group[len(group) // 2][0], min(up for _, up, _ in group)
        text = _text("; ".join(name for *_, name in group))
        made.append(
            f'<text class="number" x="{across:.1f}" y="{up - 8:.1f}" text-anchor="middle">{text}</text>'
        )
    return made


def _text(text: str) -> str:
    return escape(clean(text), quote=True)
