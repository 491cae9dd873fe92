"""Corners of constrained mixture regions against counts in print.

Flares: R. A. McLean and V. L. Anderson, Technometrics 8 (1966) 447-454: 8 corners, 12 edges, 6 faces and
their centroids. Five-component petrol blend: R. D. Snee and D. W. Marquardt, Technometrics 16 (1974) 399-408:
28 corners. Polvorón: J. Lawson and C. Willden, J. Stat. Softw. 72 (2016) c02: 5 corners. A simplex drawn in:
J. A. Cornell, Experiments with Mixtures: 4 corners.
"""

from __future__ import annotations

from fractions import Fraction

from optimiser.statistics.region import Corners, Region, candidates, corners
from optimiser.units.numbers import show_number


def over(lows: str, highs: str) -> Corners:
    low, high = (tuple(Fraction(word) for word in words.split()) for words in (lows, highs))
    return corners(Region(tuple(f"part {i}" for i in range(len(low))), low, high))


def said(points: tuple[tuple[Fraction, ...], ...]) -> list[str]:
    return [" ".join(show_number(value, 4) for value in point) for point in points]


FLARE = over("0.4 0.1 0.1 0.03", "0.6 0.5 0.5 0.08")


def test_flare_corners() -> None:
    assert said(FLARE.points) == [
        "0.4 0.1 0.42 0.08",
        "0.4 0.1 0.47 0.03",
        "0.4 0.42 0.1 0.08",
        "0.4 0.47 0.1 0.03",
        "0.6 0.1 0.22 0.08",
        "0.6 0.1 0.27 0.03",
        "0.6 0.22 0.1 0.08",
        "0.6 0.27 0.1 0.03",
    ]


def test_flare_edges_faces_and_centroids() -> None:
    assert [len(FLARE.faces(size)) for size in range(4)] == [8, 12, 6, 1]
    assert said((FLARE.middle,)) == ["0.5 0.2225 0.2225 0.055"]
    assert sorted(said(FLARE.centroids(2))) == [
        "0.4 0.2725 0.2725 0.055",
        "0.5 0.1 0.345 0.055",
        "0.5 0.21 0.21 0.08",
        "0.5 0.235 0.235 0.03",
        "0.5 0.345 0.1 0.055",
        "0.6 0.1725 0.1725 0.055",
    ]
    assert len(candidates(FLARE)) == 8 + 12 + 6 + 1 + 8


def test_the_five_component_blend_has_28_corners() -> None:
    blend = over("0 0 0.05 0.2 0.4", "0.1 0.1 0.15 0.4 0.6")
    assert [len(blend.faces(size)) for size in range(4)] == [28, 56, 38, 10]
    assert len(blend.points) == 28
    words = said(blend.points)
    assert words[0] == "0 0 0.05 0.35 0.6"
    assert words[-1] == "0.1 0.1 0.15 0.25 0.4"
    assert "0.05 0.1 0.05 0.2 0.6" in words


def test_polvoron_has_5_corners_and_the_drawn_in_simplex_4() -> None:
    pastry = over("0 0.1 0.05", "0.8 0.95 0.5")
    assert said(pastry.points) == ["0 0.5 0.5", "0 0.95 0.05", "0.4 0.1 0.5", "0.8 0.1 0.1", "0.8 0.15 0.05"]
    small = over("0.124 0.064 0.374 0.374", "0.188 0.128 0.438 0.438")
    assert said(small.points) == [
        "0.124 0.064 0.374 0.438",
        "0.124 0.064 0.438 0.374",
        "0.124 0.128 0.374 0.374",
        "0.188 0.064 0.374 0.374",
    ]
    assert [len(small.faces(size)) for size in range(3)] == [4, 6, 4]
