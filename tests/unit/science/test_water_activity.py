"""Water activity and freezing rows."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.water_activity import (
    CRYOSCOPIC,
    Solute,
    alone,
    fill,
    freezing_point,
    freezing_term,
    one_solute,
    osmolality,
    row_term,
    several_solutes,
    strength_from_reading,
    water_activity,
)

GLYCEROL = Solute(Fraction("92.0938"), Fraction("1.16"))
SALT = Solute(Fraction("58.443"), particles=Fraction("1.86"))
CLOSE = Fraction(1, 10**11)


@pytest.mark.parametrize(
    ("percent", "activity"),
    [(10, "0.9782"), (20, "0.9510"), (30, "0.9163"), (40, "0.8711"), (50, "0.8108"), (60, "0.7283")],
)
def test_computed_table(percent: int, activity: str) -> None:
    found = water_activity([(GLYCEROL, Fraction(percent))], Fraction(100 - percent))
    assert found is not None
    assert round(found, 4) == Fraction(activity)


@pytest.mark.parametrize("activity", ["0.3", "0.75", "0.97", "0.999"])
def test_alone_is_the_inverse(activity: str) -> None:
    molality = alone(Fraction(activity), GLYCEROL)
    moles = molality / (molality + 1000 / Fraction("18.0153"))
    assert abs(one_solute(moles, Fraction("1.16")) - Fraction(activity)) < CLOSE


@pytest.mark.parametrize("activity", ["1", "1.2", "0.29"])
def test_outside_what_is_known(activity: str) -> None:
    with pytest.raises(ValueError, match="a water activity of"):
        alone(Fraction(activity), GLYCEROL)


@pytest.mark.parametrize("grams", ["0.000001", "0.00001", "0.0001", "0.001", "0.003", "0.01", "0.1"])
@pytest.mark.parametrize("solute", [GLYCEROL, SALT, Solute(Fraction(342), Fraction(6))])
def test_a_trace_is_counted_and_never_stops_the_sum(solute: Solute, grams: str) -> None:
    found = water_activity([(solute, Fraction(grams)), (GLYCEROL, Fraction(1, 10**6))], Fraction(80))
    assert found is not None
    ideal = 1 - Fraction(grams) / solute.molar_mass * solute.particles / (80 / Fraction("18.0153"))
    assert abs(found - ideal) < Fraction(1, 10**6)
    assert found < 1


def test_the_two_ways_of_reckoning_a_trace_meet() -> None:
    below, above = (alone(1 - Fraction(1, 10**6) * part, GLYCEROL) for part in (Fraction("0.9999"), 1))
    assert 0 < above / below - Fraction(1, 1) < Fraction("0.00011")


def test_edges() -> None:
    assert water_activity([], Fraction(50)) == 1
    assert water_activity([(GLYCEROL, Fraction(10))], Fraction(0)) is None
    assert water_activity([(GLYCEROL, Fraction(99))], Fraction(1)) is None
    assert water_activity([(GLYCEROL, Fraction(1, 10**15))], Fraction(100)) == 1
    assert several_solutes([], Fraction(50)) == 1


def test_row_is_zero_at_the_target() -> None:
    activity, water = Fraction("0.9"), Fraction(60)
    grams = [alone(activity, one) / 2 * one.molar_mass * water / 1000 for one in (GLYCEROL, SALT)]
    total = sum(
        amount * row_term([(one, Fraction(1))], Fraction(0), activity)
        for amount, one in zip(grams, (GLYCEROL, SALT), strict=True)
    ) + water * row_term([], Fraction(1), activity)
    assert abs(total) < CLOSE
    found = water_activity(list(zip((GLYCEROL, SALT), grams, strict=True)), water)
    assert found is not None
    assert abs(found - activity) < CLOSE


def test_a_reading_scales_the_strengths() -> None:
    parts, water = [(GLYCEROL, Fraction(30))], Fraction(70)
    scale = strength_from_reading(parts, water, Fraction("0.92"))
    assert abs(fill(parts, water, Fraction("0.92")) / scale - 1) < CLOSE
    assert scale > 1


def test_ice_row() -> None:
    parts = [(GLYCEROL, Fraction(20)), (SALT, Fraction(1))]
    water = Fraction(79)
    point = freezing_point(parts, water)
    assert point == -CRYOSCOPIC * osmolality(parts, water)
    rows = sum(grams * freezing_term([(one, Fraction(1))], Fraction(0), point) for one, grams in parts)
    assert rows + water * freezing_term([], Fraction(1), point) == 0


def test_a_salt_counts_by_its_particles() -> None:
    water, mol, whole = Fraction(50), Fraction(1), Solute(SALT.molar_mass)
    one = several_solutes([(SALT, mol), (GLYCEROL, mol)], water)
    assert one == several_solutes([(whole, SALT.particles), (GLYCEROL, mol)], water)
    assert one < several_solutes([(whole, mol), (GLYCEROL, mol)], water)
