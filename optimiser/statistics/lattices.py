"""Blends spread over a whole simplex: the lattice {q, m} and the centroids of every subset of parts."""

from __future__ import annotations

import itertools
from fractions import Fraction

from optimiser.statistics.exact_rows import Vector


def simplex_lattice(parts: int, steps: int) -> tuple[Vector, ...]:
    """Every blend whose shares are whole multiples of 1/steps: C(parts + steps - 1, steps) of them.

    Scheffé 1958. Raises ValueError for less than one part or step.
    """
    if parts < 1 or steps < 1:
        raise ValueError("a lattice has at least one part and one step")
    bars = itertools.combinations(range(parts + steps - 1), parts - 1)
    ends = ((-1, *bar, parts + steps - 1) for bar in bars)
    return tuple(
        sorted(
            (tuple(Fraction(b - a - 1, steps) for a, b in itertools.pairwise(end)) for end in ends),
            reverse=True,
        )
    )


def simplex_centroid(parts: int) -> tuple[Vector, ...]:
    """Equal shares of every subset of the parts: 2^parts - 1 blends, single parts first (Scheffé 1963)."""
    if parts < 1:
        raise ValueError("a blend has at least one part")
    return tuple(
        tuple(Fraction(int(i in some), size) for i in range(parts))
        for size in range(1, parts + 1)
        for some in itertools.combinations(range(parts), size)
    )
