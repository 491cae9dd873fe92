"""Glycerol in water against a second, independent source: CoolProp 8.0.0, INCOMP::MGL.

Density and viscosity at 10 to 30 C and 0 to 60 %, freezing points at 5 to 60 % (data/coolprop_glycerol.json).
A freezing point tells a water activity at that temperature: ice and the water above it are at rest with each
other. Heat of melting 6010 J/mol and heat capacity difference 38 J/(mol K): textbook values, from memory.
"""

from __future__ import annotations

import json
import math
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from optimiser.science import density, glycerol
from optimiser.science.water_activity import MODEL as ACTIVITY
from optimiser.science.water_activity import Solute, freezing_point, water_activity

DATA: dict[str, Any] = json.loads(
    Path(__file__).with_name("data").joinpath("coolprop_glycerol.json").read_text("utf-8")
)
TEMPERATURES = ("10", "20", "25", "30")
GLYCEROL = Solute(Fraction("92.0938"), Fraction("1.16"))
ICE_K, MELTING, HEAT_CAPACITY, GAS = 273.15, 6010.0, 38.0, 8.314


def test_the_figures_name_the_version_they_are_of() -> None:
    assert DATA["version"] == "8.0.0"
    assert DATA["version"] in DATA["source"]


@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_density_within_half_a_tenth_of_a_per_cent(celsius: str) -> None:
    for percent, read in DATA["density_g_per_ml"][celsius].items():
        found = glycerol.density(Fraction(int(percent), 100), Fraction(celsius))
        assert abs(found / Fraction(read) - 1) < Fraction("0.0005"), percent


def test_volumes_that_add_up_stay_within_the_band_they_are_printed_with() -> None:
    """No air is in these: the sum is up to 1.1 % too light, and the band allows 2 % the other way."""
    table = DATA["density_g_per_ml"]["25"]
    water, pure = Fraction(table["0"]), glycerol.density(Fraction(1), Fraction(25))
    for percent, read in table.items():
        share = Fraction(percent)
        summed = density.density([(share, pure), (100 - share, water)])
        error = summed / Fraction(read) - 1
        assert Fraction("-0.011") < error <= Fraction("0.0001"), percent
        assert -error < density.MODEL.band.up


@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_viscosity_within_the_band_up_to_half_and_wider_where_it_is_cold_and_thick(celsius: str) -> None:
    for percent, read in DATA["viscosity_mPas"][celsius].items():
        found = glycerol.viscosity(Fraction(int(percent), 100), Fraction(celsius))
        error = abs(found / Fraction(read) - 1)
        plain = int(percent) <= 40 or (int(percent) == 50 and celsius != "10")
        assert error < (glycerol.MODEL.band.up if plain else Fraction("0.085")), percent


@pytest.mark.parametrize(
    ("percent", "within"),
    [("5", 0.001), ("10", 0.001), ("15", 0.002), ("20", 0.004), ("30", 0.008), ("40", 0.0105)],
)
def test_water_activity_told_by_the_freezing_point(percent: str, within: float) -> None:
    """Norrish is for 25 C, the freezing point for itself: they part as it gets colder, never by more."""
    kelvin = ICE_K + float(DATA["freezing_C"][percent])
    ratio = ICE_K / kelvin
    told = math.exp(
        -MELTING / GAS * (1 / kelvin - 1 / ICE_K) + HEAT_CAPACITY / GAS * (ratio - 1 - math.log(ratio))
    )
    found = water_activity([(GLYCEROL, Fraction(percent))], 100 - Fraction(percent))
    assert found is not None
    assert abs(float(found) - told) < within
    if percent in ("5", "10", "15", "20"):
        assert abs(float(found) - told) < float(ACTIVITY.band.up)


@pytest.mark.parametrize(
    ("percent", "within"),
    [("5", "0.1"), ("10", "0.1"), ("20", "0.52"), ("30", "1.12"), ("40", "1.9")],
)
def test_the_ideal_freezing_point_is_too_high_if_anything(percent: str, within: str) -> None:
    found = freezing_point([(GLYCEROL, Fraction(percent))], 100 - Fraction(percent))
    assert Fraction("-0.03") < found - Fraction(DATA["freezing_C"][percent]) <= Fraction(within)
