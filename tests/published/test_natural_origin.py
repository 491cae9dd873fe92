"""The worked example of the natural-origin content, and the rule of one half.

ISO 16128-2 as summed up on the ISO guidelines page of liveclean.ca: 50 g at 1.0, 25 g at 0.8, 23 g of water
at 1.0 and 2 g at 0 give 93 %. The rule that a derived material has to exceed 0.5: ISO 16128-1, same page.
The standard itself was not read.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.natural_origin import content, index

F = Fraction
WORKED = ((F(50), F(1)), (F(25), F("0.8")), (F(23), F(1)), (F(2), F(0)))


def test_the_worked_example_gives_93_percent() -> None:
    assert content(WORKED) == F("0.93")


def test_the_same_batch_in_shares_gives_the_same() -> None:
    assert content((grams * 7, own) for grams, own in WORKED) == F("0.93")


@pytest.mark.parametrize(
    ("stated", "counts"),
    [("0.8", "0.8"), ("0.51", "0.51"), ("0.5", "0"), ("0.3", "0"), ("1", "1"), ("0", "0")],
)
def test_a_derived_material_has_to_exceed_one_half(stated: str, counts: str) -> None:
    assert index(F(stated)) == F(counts)
