"""Liquid that a line brings and what it drinks, in a watery product and in one of oil."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.science.charge import Unknown
from optimiser.science.wetting import liquid_of, uptake_of
from tests.small import figure, fr, ingredient


@pytest.mark.parametrize(
    ("group", "water", "watery", "oily"),
    [
        ("water", "100", "1", "0"),
        ("clay", "2", "0.02", "0"),
        ("polyol", "15", "1", "0"),
        ("oil", "0", "0", "1"),
        ("ester", "0", "0", "1"),
        ("butter", "0", "0", "0"),
    ],
)
def test_water_and_polyols_are_liquid_or_liquid_oils(group: str, water: str, watery: str, oily: str) -> None:
    one = replace(ingredient("it", group, group, "1"), figures={"water_content": figure(water)})
    assert liquid_of(one, False) == fr(watery)
    assert liquid_of(one, True) == fr(oily)


def test_water_that_is_not_known_is_not_guessed() -> None:
    bare = ingredient("it", "gel", "gel", "1")
    assert liquid_of(bare, False) == Unknown("its water content is not known")
    assert liquid_of(bare, True) == 0


def test_a_powder_without_its_number_is_not_known_and_what_is_no_powder_drinks_nothing() -> None:
    clay = ingredient("it", "clay", "clay", "1", water_uptake="0.5")
    assert uptake_of(clay, False) == figure("0.5")
    assert uptake_of(clay, True) == Unknown("how much it drinks (oil_uptake) is not known")
    assert uptake_of(ingredient("it", "oil", "oil", "1"), True) is None
