"""Corners of small random regions against a search through every set of rows."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.statistics import region as module
from optimiser.statistics.exact_rows import Vector, dot, only_solution
from optimiser.statistics.region import Region, Row, candidates, corners, spread
from tests.effort import tries

NAMES = ("a", "b", "c", "d")
TENTH = st.integers(0, 10).map(lambda n: Fraction(n, 10))
WHOLE = st.integers(-2, 2).map(Fraction)


@st.composite
def regions(draw: st.DrawFn) -> Region:
    size = draw(st.integers(2, 4))
    spans = [sorted((draw(TENTH), draw(TENTH))) for _ in range(size)]
    rows = []
    for _ in range(draw(st.integers(0, 2))):
        coefs = tuple(draw(WHOLE) for _ in range(size))
        sides = draw(st.sampled_from(["low", "high", "both"]))
        low = draw(st.integers(-8, 8).map(lambda n: Fraction(n, 7)))
        rows.append(Row(coefs, low if sides != "high" else None, low if sides != "low" else None))
    return Region(NAMES[:size], tuple(s[0] for s in spans), tuple(s[1] for s in spans), tuple(rows))


def by_search(region: Region) -> set[Vector]:
    """Every point that meets all and is the one solution of some set of its rows."""
    sides = [half for half, _ in region.halves]
    found = set()
    for count in range(len(region.names)):
        for some in itertools.combinations(sides, count):
            point = only_solution([*region.equal, *some], len(region.names))
            if point is not None and region.holds(point):
                found.add(point)
    return found


@given(regions())
@tries(300)
def test_corners_are_those_of_an_exact_search(region: Region) -> None:
    assert set(corners(region).points) == by_search(region)


@given(regions())
@tries(60)
def test_candidates_and_spread_points_lie_in_the_region(region: Region) -> None:
    found = corners(region)
    for _, point in candidates(found):
        assert region.holds(point)
    for spot in spread(found, 5):
        assert math.isclose(sum(spot), 1, abs_tol=1e-9)
        for (a, b), _ in region.halves:
            assert sum(float(x) * y for x, y in zip(a, spot, strict=True)) >= float(b) - 1e-9


@given(regions())
@tries(60)
def test_faces_of_every_size_add_up(region: Region) -> None:
    """Euler: the corners less the edges plus the faces … is one, the region itself counted."""
    found = corners(region)
    if not found.empty:
        assert sum((-1) ** size * len(found.faces(size)) for size in range(found.dimension + 1)) == 1


@given(regions())
@tries(60)
def test_what_holds_a_part_is_met_with_equality_at_its_end(region: Region) -> None:
    found = corners(region)
    if found.empty:
        assert found.dimension == -1
        return
    low, high = found.span(0)
    assert all(low <= point[0] <= high for point in found.points)
    names = {
        name for (a, b), name in region.halves if any(dot(a, p) == b for p in found.points if p[0] == high)
    }
    assert set(found.holders(0, most=True)) <= names


@given(regions())
@tries(80)
def test_fractions_alone_find_the_same_corners(region: Region) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "_started", lambda _: [])
        alone = corners(region)
    assert alone.points == corners(region).points
