"""The lower edge of many falling lines, as pieces from left to right. Plain geometry, in floats."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Piece:
    """A straight part of the edge, from (x1, y1) to (x2, y2).

    `owner` is the set of whole choices it belongs to and `part` the segment there; -1 is the level part to
    the right of what the choices can reach. `proved`: nothing lies below it. `tried`: no more can be told.
    """

    x1: float
    y1: float
    x2: float
    y2: float
    owner: int
    part: int
    proved: bool = False
    tried: bool = False

    @property
    def slope(self) -> float:
        """How fast it falls: positive where it does."""
        return (self.y1 - self.y2) / (self.x2 - self.x1)

    def at(self, x: float) -> float:
        return self.y1 - self.slope * (x - self.x1)

    def cut(self, low: float, high: float) -> Piece:
        return replace(self, x1=low, y1=self.at(low), x2=high, y2=self.at(high))


def pieces_of(owner: int, corners: list[tuple[float, float]], end: float) -> list[Piece]:
    """What one set of choices reaches up to `end`: its own line as far as that goes, then level."""
    found = []
    for part, (a, b) in enumerate(itertools.pairwise(corners)):
        if b[0] - a[0] > SAME and end - a[0] > SAME:
            whole = Piece(a[0], a[1], b[0], b[1], owner, part)
            found.append(whole if b[0] <= end else whole.cut(a[0], end))
    x, y = corners[-1]
    if end - x > SAME:
        found.append(Piece(x, y, end, y, owner, -1))
    return found


def lower(edge: list[Piece], other: list[Piece]) -> list[Piece]:
    """The lower of the two at every place; the edge keeps its piece where both are alike."""
    if not edge or not other:
        return edge or other
    stops = sorted({p.x1 for p in (*edge, *other)} | {p.x2 for p in (*edge, *other)})
    found: list[Piece] = []
    i = j = 0
    for low, high in itertools.pairwise(stops):
        if high - low <= SAME:
            continue
        middle = (low + high) / 2
        while i < len(edge) and edge[i].x2 < middle:
            i += 1
        while j < len(other) and other[j].x2 < middle:
            j += 1
        mine = edge[i] if i < len(edge) and edge[i].x1 < middle else None
        new = other[j] if j < len(other) and other[j].x1 < middle else None
        found += _lower_here(mine, new, low, high)
    return joined(found)


def _lower_here(mine: Piece | None, new: Piece | None, low: float, high: float) -> list[Piece]:
    if mine is None or new is None:
        one = mine or new
        return [one.cut(low, high)] if one else []
    left, right = new.at(low) - mine.at(low), new.at(high) - mine.at(high)
    if left >= -SAME and right >= -SAME:
        return [mine.cut(low, high)]
    if left <= SAME and right <= SAME:
        return [new.cut(low, high)]
    cross = low + (high - low) * left / (left - right)
    first, second = (mine, new) if left > 0 else (new, mine)
    parts = ((first, low, cross), (second, cross, high))
    return [one.cut(a, b) for one, a, b in parts if b - a > SAME]


def joined(pieces: list[Piece]) -> list[Piece]:
    """Neighbours that are one straight part of the same choices become one piece."""
    found: list[Piece] = []
    for one in pieces:
        last = found[-1] if found else None
        if (
            last is not None
            and (last.owner, last.part, last.proved, last.tried)
            == (one.owner, one.part, one.proved, one.tried)
            and one.x1 - last.x2 <= SAME
        ):
            found[-1] = replace(last, x2=one.x2, y2=one.y2)
        else:
            found.append(one)
    return found


def height(edge: list[Piece], x: float) -> float:
    """The edge's least height at x; endless where it does not reach."""
    found = [p.at(min(max(x, p.x1), p.x2)) for p in edge if p.x1 - SAME <= x <= p.x2 + SAME]
    return min(found, default=float("inf"))
