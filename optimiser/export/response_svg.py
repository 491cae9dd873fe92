"""A fitted response as a drawing: how it moves with each line, and for three lines a map of it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape

from optimiser.checks.responses import taught_at, trials_of
from optimiser.domain.response import Fitted, Setting
from optimiser.export.curve_svg import STYLE
from optimiser.export.plain import clean
from optimiser.export.trial_words import measure_words
from optimiser.units.numbers import show_number

WIDTH, PANEL = 720, 430
LEFT, RIGHT, TOP, BOTTOM = 72, 496, 52, 372
LONGEST = 26
"""Marks of a name that there is room for."""
ACROSS, HIGH = 460, 398
"""Side and height of the triangle."""
STEPS, MESH = 40, 36
DASHES = ("", "7 4", "2 3", "9 3 2 3", "4 2", "1 4")
MOST_LEVELS = 9
OWN = """
.curve .trace { fill: none; stroke: var(--line); stroke-width: 2; } .curve .name { font-weight: 600; }
.curve .edge { fill: none; stroke: var(--soft); stroke-width: 1; }
.curve .level { fill: none; stroke: var(--line); stroke-width: 1.5; stroke-linecap: round; }
.curve .halo { paint-order: stroke; stroke: var(--paper); stroke-width: 4px; }
.curve .trial { fill: var(--ink); stroke: var(--paper); stroke-width: 1; }
""".strip()
Names = Mapping[str, str]
Spot = tuple[float, float]
Parts = tuple[float, ...]


def response_svg(fitted: Fitted, names: Names, points: Sequence[Sequence[Fraction]]) -> str:
    """One drawing without script or anything from outside; `points` are the trials, in shares of `varied`.

    Lines are drawn at the middle of every setting of the work; each setting has a panel of its own.
    """
    three, whole = len(fitted.varied) == 3, fitted
    made = {one.name: one.middle for one in whole.open_settings}
    fitted = whole.made_so(made)
    first = PANEL * 2 + 50 if three else PANEL
    height = first + PANEL * len(made)
    title = (
        f"{fitted.name}, {fitted.model} in {', '.join(_name(one.ingredient, names) for one in fitted.varied)}"
    )
    told = f"Fitted from {trials_of(fitted)}. How it moves with each line from the middle of the trials"
    told += "; below, a map of it over the three lines" if three else ""
    told += f"; and how it moves with {', '.join(measure_words(one) for one in made)}." if made else "."
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="curve" viewBox="0 0 {WIDTH} {height}" '
            'role="img" aria-labelledby="curve-title curve-told">'
        ),
        f'<title id="curve-title">{_text(title)}</title>',
        f'<desc id="curve-told">{_text(told)}</desc>',
        f"<style>{STYLE}\n{OWN}</style>",
        *_traces(fitted, names, _shares(points)),
        *(_map(fitted, names, _shares(points)) if three else ()),
        *(
            line
            for n, one in enumerate(whole.open_settings)
            for line in _setting(whole, one, names, _shares(points), first + PANEL * n)
        ),
        "</svg>",
    ]
    return "\n".join(parts)


def _shares(points: Sequence[Sequence[Fraction]]) -> list[Parts]:
    return [tuple(float(value / sum(row)) for value in row) for row in points]


def _value(fitted: Fitted, parts: Parts) -> float:
    names = (one.ingredient for one in fitted.varied)
    shares = {name: Fraction(round(part, 9)) for name, part in zip(names, parts, strict=True)}
    told = taught_at(fitted, shares)
    return float(told.value) if told is not None else 0.0


def _middle(points: Sequence[Parts]) -> Parts:
    return tuple(math.fsum(column) / len(points) for column in zip(*points, strict=True))


def _ends(points: Sequence[Parts]) -> list[Spot]:
    return [(min(column), max(column)) for column in zip(*points, strict=True)]


@dataclass(frozen=True, slots=True)
class _Trace:
    """One line moved, the others keeping their ratio: points moved against the response."""

    name: str
    spots: tuple[Spot, ...]


def _traces(fitted: Fitted, names: Names, points: Sequence[Parts]) -> Iterator[str]:
    middle, whole = _middle(points), float(sum(fitted.together)) / 2
    traces = []
    for n, (low, high) in enumerate(_ends(points)):
        spots = []
        for step in range(STEPS + 1):
            own = low + (high - low) * step / STEPS
            rest = (1 - own) / (1 - middle[n])
            parts = tuple(own if i == n else part * rest for i, part in enumerate(middle))
            spots.append(((own - middle[n]) * whole, _value(fitted, parts)))
        traces.append(_Trace(_name(fitted.varied[n].ingredient, names), tuple(spots)))
    yield from _chart(fitted, traces, "points of % a line moves from the middle of the trials", _signed)


def _setting(
    whole: Fitted, own: Setting, names: Names, points: Sequence[Parts], down: float
) -> Iterator[str]:
    """One setting moved over its span, the others at their middle: the middle of the trials, and the most of
    each line where the setting does not work on all alike."""
    middle = _middle(points)
    blends = [("middle of the trials", middle)]
    if any(own.name in term and len(term) > 1 for term in whole.terms):
        for n, (_, high) in enumerate(_ends(points)):
            rest = (1 - high) / (1 - middle[n])
            parts = tuple(high if i == n else part * rest for i, part in enumerate(middle))
            blends.append((f"most {_name(whole.varied[n].ingredient, names)}", parts))
    still = {one.name: one.middle for one in whole.open_settings}
    at = [own.low + (own.high - own.low) * step / 8 for step in range(9)]
    here = [whole.made_so(still | {own.name: value}) for value in at]
    traces = [
        _Trace(name, tuple((float(v), _value(one, parts)) for v, one in zip(at, here, strict=True)))
        for name, parts in blends
    ]
    yield f'<g transform="translate(0 {down:.0f})">'
    yield from _chart(whole, traces, f"{measure_words(own.name)}, {own.unit}".removesuffix(", "), _bare)
    yield "</g>"


def _chart(
    fitted: Fitted, traces: Sequence[_Trace], under: str, words: Callable[[Fraction], str]
) -> Iterator[str]:
    every = [spot for trace in traces for spot in trace.spots]
    x, y = (
        _Axis(*_room([s[0] for s in every]), LEFT, RIGHT),
        _Axis(*_room([s[1] for s in every]), BOTTOM, TOP),
    )
    yield f'<text x="{LEFT}" y="24">{_text(_with_unit(fitted))}</text>'
    yield from _axes(x, y, words)
    yield _label((LEFT + RIGHT) / 2, BOTTOM + 42, _text(under), "middle")
    heights = _spread([y.at(trace.spots[-1][1]) for trace in traces])
    for n, trace in enumerate(traces):
        line = " ".join(f"{x.at(a):.1f},{y.at(b):.1f}" for a, b in trace.spots)
        dash = DASHES[n % len(DASHES)]
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<polyline class="trace"{dashed} points="{line}"/>'
        at, up = x.at(trace.spots[-1][0]), y.at(trace.spots[-1][1])
        yield f'<line class="grid" x1="{at:.1f}" y1="{up:.1f}" x2="{RIGHT + 8}" y2="{heights[n]:.1f}"/>'
        yield f'<text class="name" x="{RIGHT + 12}" y="{heights[n] + 4:.1f}">{_text(trace.name)}</text>'


@dataclass(frozen=True, slots=True)
class _Axis:
    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        return self.start + (self.end - self.start) * (value - self.low) / (self.high - self.low)

    def marks(self) -> list[Fraction]:
        return _marks(self.low, self.high, 7)


def _marks(low: float, high: float, most: int) -> list[Fraction]:
    """Round numbers between two ends, at most so many."""
    span = high - low
    size = Fraction(10) ** (math.floor(math.log10(span)) - 1)
    steps = (size * by * ten for ten in (1, 10, 100) for by in (1, 2, 5))
    step = next(one for one in steps if span / float(one) <= most)
    return [step * n for n in range(math.ceil(low / float(step)), math.floor(high / float(step)) + 1)]


def _room(values: Sequence[float]) -> Spot:
    low, high = min(values), max(values)
    by = (high - low) * 0.06 or max(abs(low) * 0.06, 1.0)
    return low - by, high + by


def _axes(x: _Axis, y: _Axis, words: Callable[[Fraction], str]) -> Iterator[str]:
    for mark in y.marks():
        at = y.at(float(mark))
        yield f'<line class="grid" x1="{LEFT}" x2="{RIGHT}" y1="{at:.1f}" y2="{at:.1f}"/>'
        yield _label(LEFT - 8, at + 4, show_number(mark, 4), "end")
    for mark in x.marks():
        at = x.at(float(mark))
        yield f'<line class="axis" x1="{at:.1f}" x2="{at:.1f}" y1="{BOTTOM}" y2="{BOTTOM + 5}"/>'
        yield _label(at, BOTTOM + 20, words(mark), "middle")
    yield f'<line class="axis" x1="{LEFT}" x2="{RIGHT}" y1="{BOTTOM}" y2="{BOTTOM}"/>'


def _signed(value: Fraction) -> str:
    sign = "+" if value > 0 else "\N{MINUS SIGN}" if value < 0 else ""
    return f"{sign}{show_number(abs(value), 3)}"


def _bare(value: Fraction) -> str:
    return show_number(value, 3)


def _spread(heights: Sequence[float]) -> list[float]:
    """Heights of labels, in order and at least 15 apart."""
    found = list(heights)
    order = sorted(range(len(found)), key=lambda n: found[n])
    for before, after in itertools.pairwise(order):
        found[after] = max(found[after], found[before] + 15)
    return found


def _map(fitted: Fitted, names: Names, points: Sequence[Parts]) -> Iterator[str]:
    """The triangle from the least part of each line on; level lines only where the trials had each line."""
    ends = _ends(points)
    lows = [low for low, _ in ends]
    room = 1 - math.fsum(lows)
    whole = float(sum(fitted.together)) / 2
    left, top = (WIDTH - ACROSS) / 2, PANEL + 52

    def place(over: Parts) -> Spot:
        """Top: the first line; foot left the second, right the third."""
        a, _, c = over
        return left + ACROSS * (c + a / 2), top + HIGH * 0.86 * (1 - a)

    def value(over: Parts) -> float:
        return _value(fitted, tuple(low + room * part for low, part in zip(lows, over, strict=True)))

    def within(over: Parts) -> bool:
        own = (low + room * part for low, part in zip(lows, over, strict=True))
        return all(part <= high + 1e-9 for part, (_, high) in zip(own, ends, strict=True))

    corners = [place((1.0, 0.0, 0.0)), place((0.0, 1.0, 0.0)), place((0.0, 0.0, 1.0))]
    yield f'<path class="edge" d="M{" L".join(_at(spot) for spot in corners)} Z"/>'
    yield from _corner_labels(fitted, names, corners, lows, room * whole, whole)
    cells = [cell for cell in _cells() if all(within(over) for over in cell)]
    known = {over: value(over) for cell in cells for over in cell}
    if known:
        yield from _levels(cells, known, place)
    for parts in points:
        over = tuple((part - low) / room for part, low in zip(parts, lows, strict=True))
        x, y = place(over)
        yield f'<circle class="trial" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'


def _corner_labels(
    fitted: Fitted, names: Names, corners: Sequence[Spot], lows: Sequence[float], room: float, whole: float
) -> Iterator[str]:
    for n, (x, y) in enumerate(corners):
        anchor = ("middle", "end", "start")[n]
        by = (-24, 4, 4)[n]
        aside = (0, -8, 8)[n]
        name = _text(_name(fitted.varied[n].ingredient, names))
        yield f'<text class="name" x="{x + aside:.1f}" y="{y + by:.1f}" text-anchor="{anchor}">{name}</text>'
        most = show_number(Fraction(round(lows[n] * whole + room, 6)), 1)
        yield _label(x + aside, y + by + 15, f"{most} %", anchor)
    text = f"{_with_unit(fitted)}; dots are trials, sides are the least of each line"
    yield _label(WIDTH / 2, PANEL * 2 + 38, _text(text), "middle")


def _cells() -> Iterator[tuple[Parts, Parts, Parts]]:
    """Small triangles that fill the large one."""

    def over(i: int, j: int) -> Parts:
        return i / MESH, j / MESH, (MESH - i - j) / MESH

    for i in range(MESH):
        for j in range(MESH - i):
            yield over(i, j), over(i + 1, j), over(i, j + 1)
            if i + j < MESH - 1:
                yield over(i + 1, j), over(i, j + 1), over(i + 1, j + 1)


def _levels(cells: Sequence[Sequence[Parts]], known: Mapping[Parts, float], place: object) -> Iterator[str]:
    low, high = min(known.values()), max(known.values())
    if high - low < 1e-9:
        return
    for level in _marks(low, high, MOST_LEVELS):
        pieces = [piece for cell in cells if (piece := _crossing(cell, known, float(level)))]
        spots = [(place(one), place(two)) for one, two in pieces]  # type: ignore[operator]
        if not spots:
            continue
        path = " ".join(f"M{_at(one)} L{_at(two)}" for one, two in spots)
        yield f'<path class="level" d="{path}"/>'
        x, y = sorted(one for one, _ in spots)[len(spots) // 2]
        told = show_number(level, 3)
        yield f'<text class="halo" x="{x:.1f}" y="{y + 4:.1f}" text-anchor="middle">{told}</text>'


def _crossing(cell: Sequence[Parts], known: Mapping[Parts, float], level: float) -> list[Parts] | None:
    """Where a level line enters a small triangle and leaves it."""
    found = []
    for one, two in itertools.combinations(cell, 2):
        a, b = known[one], known[two]
        if (a < level) != (b < level):
            by = (level - a) / (b - a)
            found.append(tuple(p + (q - p) * by for p, q in zip(one, two, strict=True)))
    return found if len(found) == 2 else None


def _at(spot: Spot) -> str:
    return f"{spot[0]:.1f} {spot[1]:.1f}"


def _name(ingredient: str, names: Names) -> str:
    name = names.get(ingredient, ingredient)
    return name if len(name) <= LONGEST else f"{name[: LONGEST - 1].rstrip(' ,')}…"


def _with_unit(fitted: Fitted) -> str:
    stated = [one for one in fitted.settings if one.low == one.high]
    how = "".join(
        f"; {measure_words(one.name)} {show_number(one.low, 3)} {one.unit}".rstrip() for one in stated
    )
    if fitted.scale is not None:
        low, high = (show_number(end, 2) for end in fitted.scale)
        return f"{fitted.name}, scored {low} to {high}{how}"
    return (f"{fitted.name}, {fitted.unit}" if fitted.unit else fitted.name) + how


def _label(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text class="soft" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{text}</text>'


def _text(text: str) -> str:
    return escape(clean(text), quote=True)
