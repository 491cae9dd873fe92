"""The efficient curve of a linear model in two costs, both to be small, with whole numbers in it.

With every whole choice fixed the curve is a falling bent line, found corner by corner. The curve of all is
the lower edge of such lines. Whether the edge is whole is asked piece by piece: is there anything below this
straight part? Yes gives other whole choices and their line; no proves the piece. There are finitely many
choices, so it ends.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from optimiser.model.rows import Model, Row
from optimiser.search.envelope import Piece, height, joined, lower, pieces_of
from optimiser.solver.highs import Session
from optimiser.solver.interface import Limits, Outcome, Solution

WITHIN = 1e-3
"""A piece is proved when nothing lies below it by more than this part of both spans."""
NEAR = 1e-5
"""Corners nearer than this part of both spans are one."""
END = 1 + WITHIN
"""How far the edge runs: past the right end by a hair, so that a formula that only the end has is on it."""
LEEWAY = 1e-8
"""By so much the first of two costs may give way for the second: what a solver leaves."""
MOST_SOLVES = 600
FIRST, SECOND = "curve:first", "curve:second"
ZERO, ONE = Fraction(0), Fraction(1)
Values = Mapping[str, float]
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of the line of one set of choices: both costs as parts of their spans, and its answer."""

    x: float
    y: float
    values: Values


@dataclass(frozen=True, slots=True)
class Efficient:
    """The edge in parts of the spans (0 to 1), the corners by owner, and what the spans are."""

    edge: tuple[Piece, ...]
    lines: tuple[tuple[Corner, ...], ...]
    start: tuple[float, float]
    span: tuple[float, float]
    solves: int

    @property
    def exact(self) -> bool:
        return all(piece.proved for piece in self.edge)

    def values_at(self, piece: Piece, x: float) -> Values:
        """The answer at a place of a piece, between the corners on either side of it."""
        return values_at(self.lines, piece, x)


def values_at(lines: Sequence[tuple[Corner, ...]], piece: Piece, x: float) -> Values:
    line = lines[piece.owner]
    if piece.part < 0 or len(line) == 1:
        return line[-1].values
    left, right = line[piece.part], line[piece.part + 1]
    part = min(max((x - left.x) / (right.x - left.x), 0.0), 1.0)
    return {name: value + part * (right.values[name] - value) for name, value in left.values.items()}


@dataclass(frozen=True, slots=True)
class NoCurve:
    """No answer at all (`infeasible`), or the solver gave up."""

    infeasible: bool
    why: str


@dataclass
class _Search:
    """A model kept alive twice: with its whole numbers, and with these fixed."""

    model: Model
    costs: tuple[Mapping[str, Fraction], Mapping[str, Fraction]]
    limits: Limits
    tell: Tell
    solves: int = 0
    start: tuple[float, float] = (0.0, 0.0)
    span: tuple[float, float] = (1.0, 1.0)
    whole: Session = field(init=False)
    lines: list[tuple[Corner, ...]] = field(default_factory=list)

    def __post_init__(self) -> None:
        rows = [
            Row(name, tuple(sorted(cost.items())), None, None, "curve", "")
            for name, cost in zip((FIRST, SECOND), self.costs, strict=True)
        ]
        self.model = self.model.with_rows(rows)
        self.whole = Session(self.model)
        self.fixed = Session(self.model.relaxed())

    def raw(self, values: Values) -> tuple[float, float]:
        x, y = (sum(float(by) * values[name] for name, by in cost.items()) for cost in self.costs)
        return x, y

    def place(self, values: Values) -> tuple[float, float]:
        """Both costs as parts of their spans."""
        x, y = self.raw(values)
        parts = ((x - self.start[0]) / self.span[0], (y - self.start[1]) / self.span[1])
        across, up = (_snapped(part) for part in parts)
        return across, up

    def solve(
        self,
        session: Session,
        weights: tuple[float, float],
        caps: tuple[float | None, float | None],
        *,
        floor: float | None = None,
        gap: float = 0.0,
        start: Values | None = None,
    ) -> Solution:
        """The least weighted sum of both costs under caps on each, all in the costs' own units."""
        cost: dict[str, Fraction] = {}
        for by, own in zip(weights, self.costs, strict=True):
            factor = Fraction(repr(by))
            for name, value in own.items():
                cost[name] = cost.get(name, ZERO) + factor * value
        for name, *ends in zip((FIRST, SECOND), (floor, None), caps, strict=True):
            low, high = (None if end is None else Fraction(repr(end)) for end in ends)
            session.move_row(name, low, high)
        session.move_cost(cost)
        if session is self.whole:
            self.solves += 1
        return session.solve(replace(self.limits, gap=gap), start)

    def lexicographic(self, session: Session, first: int) -> Solution:
        """One cost as small as can be, then the other."""
        one: tuple[float, float] = (1.0, 0.0) if first == 0 else (0.0, 1.0)
        best = self.solve(session, one, (None, None))
        if best.outcome is not Outcome.OPTIMAL:
            return best
        reached = self.raw(best.values)[first]
        room = LEEWAY * self.span[first] if session is self.fixed else LEEWAY * max(1.0, abs(reached))
        cap = reached + room
        caps = (cap, None) if first == 0 else (None, cap)
        then = self.solve(session, (one[1], one[0]), caps)
        return then if then.has_values else best

    def line(self, values: Values) -> tuple[Corner, ...]:
        """All corners that these whole choices can reach, left to right."""
        for name in self.model.whole:
            at = Fraction(round(values[name]))
            self.fixed.move_bounds(name, at, at)
        ends = [self.lexicographic(self.fixed, first) for first in (0, 1)]
        corners = [Corner(*self.place(end.values), end.values) for end in ends if end.has_values]
        if len(corners) < 2 or corners[1].x - corners[0].x <= NEAR or corners[0].y - corners[1].y <= NEAR:
            return tuple(corners[-1:] if len(corners) < 2 else corners[:1])
        return (corners[0], *self._between(corners[0], corners[1]), corners[1])

    def _between(self, left: Corner, right: Corner) -> tuple[Corner, ...]:
        """Corners below the straight line between two, by the weights that see both as equal."""
        fall = (left.y - right.y) / (right.x - left.x)
        answer = self.solve(self.fixed, (fall / self.span[0], 1 / self.span[1]), (None, None))
        if not answer.has_values:
            return ()
        x, y = self.place(answer.values)
        gain = left.y + fall * left.x - (y + fall * x)
        inside = left.x + NEAR < x < right.x - NEAR
        if gain <= NEAR or not inside:
            return ()
        middle = Corner(x, y, answer.values)
        return (*self._between(left, middle), middle, *self._between(middle, right))

    def below(self, run: list[Piece], start: Values) -> tuple[bool, Values | None]:
        """(whether nothing lies below a run of pieces, an answer that does)."""
        fall, level, _ = support(run)
        low, high = run[0].x1, run[-1].x2
        high = max(high - NEAR, (low + high) / 2)
        weights = (fall / self.span[0], 1 / self.span[1])
        floor, cap = (self.start[0] + self.span[0] * at for at in (low - NEAR, high))
        ceiling = self.start[1] + self.span[1] * (run[0].y1 + NEAR)
        answer = self.solve(self.whole, weights, (cap, ceiling), floor=floor, gap=WITHIN / 4, start=start)
        offset = fall * self.start[0] / self.span[0] + self.start[1] / self.span[1]
        if answer.outcome is Outcome.INFEASIBLE:
            return True, None
        if answer.bound is not None and answer.bound - offset >= level - WITHIN / 2:
            return True, None
        return False, answer.values if answer.has_values else None


def support(run: list[Piece]) -> tuple[float, float, float]:
    """(fall, level, room): y = level - fall * x lies below all of the run, nowhere by more than room."""
    first, last = run[0], run[-1]
    fall = (first.y1 - last.y2) / (last.x2 - first.x1)
    heights = [y + fall * x for p in run for x, y in ((p.x1, p.y1), (p.x2, p.y2))]
    return fall, min(heights), max(heights) - min(heights)


def efficient(
    model: Model,
    costs: tuple[Mapping[str, Fraction], Mapping[str, Fraction]],
    limits: Limits,
    tell: Tell,
    most: int = MOST_SOLVES,
) -> Efficient | NoCurve:
    """The curve of `model` in both `costs`; with more than `most` solves it stays partly unproved."""
    search = _Search(model, costs, limits, tell)
    ends = [search.lexicographic(search.whole, first) for first in (0, 1)]
    for end in ends:
        if not end.has_values:
            return NoCurve(end.outcome is Outcome.INFEASIBLE, f"the solver says {end.outcome.value}")
    (x0, y0), (x1, y1) = (search.raw(end.values) for end in ends)
    search.start = (x0, y1)
    search.span = (x1 - x0, y0 - y1)
    sure = all(end.outcome is Outcome.OPTIMAL for end in ends)
    if min(search.span) <= 1e-6 * max(1.0, abs(x0), abs(y1)):
        line = (Corner(0.0, 0.0, ends[0].values),)
        flat = Piece(0.0, 0.0, 1.0, 0.0, 0, -1, proved=sure)
        return Efficient((flat,), (line,), search.start, (1.0, 1.0), search.solves)
    edge: list[Piece] = []
    for end in ends:
        edge = _with_line(search, edge, end.values)
    edge = _closed(search, edge, most)
    return Efficient(tuple(edge), tuple(search.lines), search.start, search.span, search.solves)


def _snapped(part: float) -> float:
    """What lies beyond the ends by a hair lies at them."""
    return min(max(part, 0.0), 1.0) if -NEAR < part < 1 + NEAR else part


def _with_line(search: _Search, edge: list[Piece], values: Values) -> list[Piece]:
    line = search.line(values)
    if not line:
        return edge
    search.lines.append(line)
    return lower(edge, pieces_of(len(search.lines) - 1, [(c.x, c.y) for c in line], END))


def _closed(search: _Search, edge: list[Piece], most: int) -> list[Piece]:
    """Asks below every piece, the widest first, until all are proved or the solves run out."""
    while search.solves < most:
        open_now = [n for n, piece in enumerate(edge) if not (piece.proved or piece.tried)]
        if not open_now:
            break
        at = max(open_now, key=lambda n: (edge[n].x2 - edge[n].x1, -n))
        tenths = 10 * (len(edge) - len(open_now)) // len(edge)
        search.tell(f"following the curve: {tenths * 10} % proved")
        first, last = _run(edge, at)
        run = edge[first : last + 1]
        proved, values = search.below(run, values_at(search.lines, run[0], run[0].x1))
        if proved or values is None:
            edge[first : last + 1] = [replace(p, proved=proved, tried=not proved) for p in run]
            edge = joined(edge)
            continue
        x, y = search.place(values)
        before = height(edge, x)
        edge = _with_line(search, edge, values)
        if height(edge, x) > before - WITHIN / 10:
            edge = _given_up(edge, x, y)
    return edge


def _run(edge: list[Piece], at: int) -> tuple[int, int]:
    """The piece with those beside it that one straight line under all of them is near enough to."""
    first = last = at

    def fits(low: int, high: int, other: int) -> bool:
        return (
            not (edge[other].proved or edge[other].tried) and support(edge[low : high + 1])[2] <= WITHIN / 2
        )

    while last + 1 < len(edge) and fits(first, last + 1, last + 1):
        last += 1
    while first and fits(first - 1, last, first - 1):
        first -= 1
    return first, last


def _given_up(edge: list[Piece], x: float, y: float) -> list[Piece]:
    """The piece over a place that the solver's tolerances do not let us settle."""
    over = max(
        (n for n, p in enumerate(edge) if p.x1 <= x + WITHIN and x - WITHIN <= p.x2 and not p.proved),
        key=lambda n: edge[n].at(min(max(x, edge[n].x1), edge[n].x2)) - y,
        default=None,
    )
    if over is not None:
        edge[over] = replace(edge[over], tried=True)
    else:
        edge = [replace(p, tried=not p.proved) for p in edge]
    return edge
