"""A mixture region: shares between bounds that meet straight rows and sum to a total; its corners and faces.

Corners are exact. A vertex enumeration in floating point (cddlib, the double description method) finds
them; each is solved again in fractions from the rows it lies on. Where that finds none, one corner is sought
in fractions. From there every edge is walked in fractions: since the edges of a bounded region join all its
corners, a list closed under that walk is whole.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from optimiser.statistics.exact_rows import Vector, dot, only_direction, only_solution, rank

ZERO, ONE = Fraction(0), Fraction(1)
Half = tuple[Vector, Fraction]
"""a and b of a·x >= b."""
NEAR = 1e-7


@dataclass(frozen=True, slots=True)
class Row:
    """low <= coefs·x <= high; a side of None is open."""

    coefs: Vector
    low: Fraction | None = None
    high: Fraction | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Region:
    """Parts in order of `names`, each from its low to its high, all together `total`, meeting every row."""

    names: tuple[str, ...]
    lows: Vector
    highs: Vector
    rows: tuple[Row, ...] = ()
    total: Fraction = ONE

    @property
    def equal(self) -> tuple[Half, ...]:
        """Rows that hold with equality as they are written, the total first."""
        fixed = [(row.coefs, row.low) for row in self.rows if row.low is not None and row.low == row.high]
        return (((ONE,) * len(self.names), self.total), *fixed)

    @property
    def halves(self) -> tuple[tuple[Half, str], ...]:
        """Every other side as a·x >= b with the name of what asks for it; repeated sides once."""
        found: dict[Half, str] = {}
        for index, name in enumerate(self.names):
            unit = tuple(ONE if i == index else ZERO for i in range(len(self.names)))
            found.setdefault((unit, self.lows[index]), f"the limit of {name}")
            found.setdefault((_negative(unit), -self.highs[index]), f"the limit of {name}")
        for row in self.rows:
            if row.low is not None and row.low == row.high:
                continue
            if row.low is not None:
                found.setdefault((row.coefs, row.low), row.name)
            if row.high is not None:
                found.setdefault((_negative(row.coefs), -row.high), row.name)
        return tuple(found.items())

    def holds(self, point: Sequence[Fraction]) -> bool:
        """Whether the point meets everything, exactly."""
        return all(dot(a, point) == b for a, b in self.equal) and all(
            dot(a, point) >= b for (a, b), _ in self.halves
        )


def _negative(row: Vector) -> Vector:
    return tuple(-value for value in row)


@dataclass(frozen=True)
class Corners:
    """All corners of a region in ascending order. None: the region is empty."""

    region: Region
    points: tuple[Vector, ...]

    @property
    def empty(self) -> bool:
        return not self.points

    @cached_property
    def dimension(self) -> int:
        """-1 where empty, 0 for a single blend, number of parts less one where nothing ties the parts."""
        return _dimension(self.points)

    @property
    def degenerate(self) -> bool:
        """Whether rows tie the parts: there are blends, but fewer ways to vary than parts less one."""
        return not self.empty and self.dimension < len(self.region.names) - 1

    @cached_property
    def _faces(self) -> tuple[frozenset[int], ...]:
        everything = frozenset(range(len(self.points)))
        sides = {
            frozenset(i for i, point in enumerate(self.points) if dot(a, point) == b)
            for (a, b), _ in self.region.halves
        }
        sides = {side for side in sides if side and side != everything}
        found, fresh = set(sides), set(sides)
        while fresh:
            fresh = {one & side for one in fresh for side in sides} - found - {frozenset()}
            found |= fresh
        return tuple(sorted(found | ({everything} if everything else set()), key=sorted))

    def faces(self, size: int) -> tuple[tuple[int, ...], ...]:
        """Faces of that dimension (0 corners, 1 edges, 2 flat faces …) as places in `points`."""
        own = [face for face in self._faces if _dimension([self.points[i] for i in face]) == size]
        return tuple(sorted(tuple(sorted(face)) for face in own))

    def centroids(self, size: int) -> tuple[Vector, ...]:
        """The mean of the corners of each face of that dimension."""
        return tuple(_mean([self.points[i] for i in face]) for face in self.faces(size))

    @property
    def middle(self) -> Vector:
        """The mean of all corners. Raises ValueError where the region is empty."""
        if self.empty:
            raise ValueError("an empty region has no middle")
        return _mean(self.points)

    def span(self, part: int) -> tuple[Fraction, Fraction]:
        """The least and the most of one part over the region."""
        return min(point[part] for point in self.points), max(point[part] for point in self.points)

    def holders(self, part: int, *, most: bool) -> tuple[str, ...]:
        """What is met with equality at every corner where the part is at its least, or its most."""
        end = self.span(part)[most]
        at = [point for point in self.points if point[part] == end]
        return tuple(name for (a, b), name in self.region.halves if all(dot(a, point) == b for point in at))


def _mean(points: Sequence[Vector]) -> Vector:
    return tuple(sum(column, ZERO) / len(points) for column in zip(*points, strict=True))


def _dimension(points: Sequence[Vector]) -> int:
    if not points:
        return -1
    first = points[0]
    return rank([tuple(a - b for a, b in zip(point, first, strict=True)) for point in points[1:]])


def corners(region: Region) -> Corners:
    """Every corner of the region, exactly."""
    equal, halves = region.equal, [half for half, _ in region.halves]
    found: set[Vector] = set()
    for point in _started(region):
        exact = _settled(point, region)
        if exact is not None:
            found.add(exact)
    if not found:
        seed = _seed(region)
        found |= set() if seed is None else {seed}
    waiting = sorted(found)
    while waiting:
        for neighbour in _neighbours(waiting.pop(), equal, halves):
            if neighbour not in found:
                found.add(neighbour)
                waiting.append(neighbour)
    return Corners(region, tuple(sorted(found)))


def _started(region: Region) -> list[tuple[float, ...]]:
    """Corners in floating point; none where the rows are too much for it."""
    import cdd

    sides = [*region.equal, *(half for half, _ in region.halves)]
    rows = [[float(v) for v in _whole((-b, *a))] for a, b in sides]
    equal = set(range(len(region.equal)))
    table = cdd.matrix_from_array(rows, lin_set=equal, rep_type=cdd.RepType.INEQUALITY)
    try:
        made = cdd.copy_generators(cdd.polyhedron_from_matrix(table)).array
    except RuntimeError:
        return []
    return [tuple(row[1:]) for row in made if row[0] > 0.5]


def _whole(row: Vector) -> Vector:
    """The row as whole numbers where they stay exact in floating point, else with its largest at one."""
    by = Fraction(math.lcm(*(value.denominator for value in row)))
    size = max(abs(value) for value in row) or ONE
    return tuple(value * by for value in row) if size * by < 2**40 else tuple(value / size for value in row)


def _settled(point: Sequence[float], region: Region) -> Vector | None:
    """The corner in fractions from the rows that the point lies on; None where they make none."""
    on: list[Half] = list(region.equal)
    for (a, b), _ in region.halves:
        size = max(abs(float(v)) for v in a) or 1.0
        gap = math.fsum(float(v) * x for v, x in zip(a, point, strict=True)) - float(b)
        if abs(gap) < NEAR * size * max(1.0, float(region.total)):
            on.append((a, b))
    exact = only_solution(on, len(region.names))
    if exact is None:
        options = itertools.combinations(on[len(region.equal) :], len(region.names) - len(region.equal))
        tries = (only_solution([*region.equal, *some], len(region.names)) for some in options)
        return next((one for one in tries if one is not None and region.holds(one)), None)
    return exact if region.holds(exact) else None


def _seed(region: Region) -> Vector | None:
    """One corner, found in fractions alone; None proves the region empty.

    From a corner of what the bounds allow, each row in turn is walked towards along edges that near it. In a
    convex region a corner that no edge leads nearer from is nearest.
    """
    if any(low > high for low, high in zip(region.lows, region.highs, strict=True)):
        return None
    here, rest = list(region.lows), region.total - sum(region.lows, ZERO)
    for part, (low, high) in enumerate(zip(region.lows, region.highs, strict=True)):
        here[part] += min(max(rest, ZERO), high - low)
        rest -= here[part] - low
    if rest:
        return None
    point: Vector = tuple(here)
    bounds = Region(region.names, region.lows, region.highs, (), region.total)
    sides = [half for half, _ in bounds.halves]
    tied = [side for a, b in region.equal[1:] for side in ((a, b), (_negative(a), -b))]
    for a, b in [*tied, *(half for half, _ in region.halves)]:
        nearer = _walked(point, a, b, region.equal[:1], sides)
        if nearer is None:
            return None
        point = nearer
        sides.append((a, b))
    return point


def _walked(
    point: Vector, a: Vector, b: Fraction, equal: Sequence[Half], sides: Sequence[Half]
) -> Vector | None:
    """From a corner along edges to where a·x >= b; None where no point has that."""
    while dot(a, point) < b:
        ahead = max(_neighbours(point, equal, sides), key=lambda one: dot(a, one), default=point)
        before, after = dot(a, point), dot(a, ahead)
        if after <= before:
            return None
        part = min(ONE, (b - before) / (after - before))
        point = tuple(x + part * (y - x) for x, y in zip(point, ahead, strict=True))
    return point


def _neighbours(point: Vector, equal: Sequence[Half], halves: Sequence[Half]) -> Iterator[Vector]:
    """Corners at the other end of every edge that leaves this one."""
    size, on = len(point), [a for a, b in halves if dot(a, point) == b]
    fixed = [a for a, _ in equal]
    seen: set[Vector] = set()
    for some in itertools.combinations(on, max(0, size - 1 - rank(fixed))):
        along = only_direction([*fixed, *some], size)
        if along is None:
            continue
        for way in (along, _negative(along)):
            if way in seen or any(dot(a, way) < 0 for a in on):
                continue
            seen.add(way)
            steps = [(dot(a, point) - b) / -dot(a, way) for a, b in halves if dot(a, way) < 0]
            yield tuple(x + min(steps) * d for x, d in zip(point, way, strict=True))


def candidates(found: Corners) -> tuple[tuple[str, Vector], ...]:
    """Points to choose trials from, each with what it is: corners, middles of edges and of faces, the middle
    of all, and halfway from that to each corner; none twice."""
    words = {0: "corner", 1: "middle of an edge", 2: "middle of a face"}
    out: dict[Vector, str] = {}
    for size in range(max(found.dimension, 0)):
        for point in found.centroids(size):
            out.setdefault(point, words.get(size, f"middle of a face of {size} ways"))
        if not size:
            out.setdefault(found.middle, "middle of all")
    if found.points:
        out.setdefault(found.middle, "middle of all")
    for corner in found.points:
        out.setdefault(_mean([found.middle, corner]), "halfway to a corner")
    return tuple((word, point) for point, word in out.items())


def spread(found: Corners, count: int, seed: int = 0) -> tuple[tuple[float, ...], ...]:
    """Points all over the region, evenly in the long run (a walk of random chords), the same for a seed."""
    if found.dimension < 1:
        return tuple(tuple(float(v) for v in point) for point in found.points)
    chance = random.Random(seed)  # noqa: S311
    halves = [([float(v) for v in a], float(b)) for (a, b), _ in found.region.halves]
    middle = [float(v) for v in found.middle]
    ways = [[float(v) - m for v, m in zip(p, middle, strict=True)] for p in found.points]
    here, out = middle, []
    for step in range(count * 5):
        mix = [chance.gauss(0, 1) for _ in ways]
        way = [math.fsum(m * w[i] for m, w in zip(mix, ways, strict=True)) for i in range(len(here))]
        low, high = -math.inf, math.inf
        for a, b in halves:
            slope = math.fsum(x * d for x, d in zip(a, way, strict=True))
            gap = max(0.0, math.fsum(x * v for x, v in zip(a, here, strict=True)) - b)
            if slope < -1e-12:
                high = min(high, gap / -slope)
            elif slope > 1e-12:
                low = max(low, -gap / slope)
        by = chance.uniform(low, high)
        here = [x + by * d for x, d in zip(here, way, strict=True)]
        if step % 5 == 4:
            out.append(tuple(here))
    return tuple(out)
