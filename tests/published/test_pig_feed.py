"""Three feeds, three requirements: whole units, two feeds at most, any two of the three requirements.

F. S. Hillier, G. J. Lieberman, Introduction to Operations Research (corn, tankage, alfalfa); the
variants from the homework "Problem 2. Blending problem", Math 443, Ohio University.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest

from tests.published.core import load, optimum

PRICES = (84, 72, 60)
NEEDS = ((200, (90, 20, 40)), (180, (30, 80, 60)), (150, (10, 20, 60)))


def by_trying(feeds: int, requirements: int) -> int:
    """The cheapest whole mix, each feed 0 to 20, from all 9261."""

    def met(mix: tuple[int, ...]) -> int:
        return sum(sum(a * n for a, n in zip(amounts, mix, strict=True)) >= need for need, amounts in NEEDS)

    return min(
        sum(p * n for p, n in zip(PRICES, mix, strict=True))
        for mix in itertools.product(range(21), repeat=3)
        if sum(n > 0 for n in mix) <= feeds and met(mix) >= requirements
    )


def test_in_fractions() -> None:
    """Published 241.71 (memory), to the cent; exact 1692/7."""
    assert round(optimum(load("pig_lp")), 2) == Fraction("241.71")


@pytest.mark.parametrize(
    ("name", "feeds", "requirements"),
    [
        ("pig_int", 3, 3),
        ("pig_int_max2feeds", 2, 3),
        ("pig_int_keep2of3", 3, 2),
        ("pig_int_max2feeds_keep2of3", 2, 2),
    ],
)
def test_the_variants_in_whole_units(name: str, feeds: int, requirements: int) -> None:
    """No printed numbers: every mix is tried here. Proved best, not only found."""
    assert optimum(load(name)) == by_trying(feeds, requirements)
