from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.acidity import solve_ph
from optimiser.science.charge import Buffer, ChargeProfile, Unknown
from optimiser.science.readings import PowderReading, slope_from_readings
from tests.solutions import solution

SLOPE, OWN = Fraction("0.045"), Fraction("9.2")
TRUE = ChargeProfile(buffers=(Buffer((SLOPE, SLOPE, SLOPE), (OWN, OWN, OWN)),), water=Fraction(1, 20))
SUPPOSED = ChargeProfile(
    buffers=(Buffer((Fraction("0.06"),) * 3, (Fraction(10),) * 3),), water=Fraction(1, 20)
)
REST: dict[str, ChargeProfile | Unknown] = {
    "water": ChargeProfile(water=Fraction(1)),
    "acid": solution({"citric acid": 1}),
}


def pot(grams: str) -> dict[str, Fraction]:
    return {"water": Fraction(80), "clay": Fraction(10), "acid": Fraction(grams)}


def read(grams: str) -> tuple[dict[str, Fraction], Fraction]:
    found = solve_ph(pot(grams), {**REST, "clay": TRUE})
    assert found.ph is not None
    return pot(grams), Fraction(found.ph)


def test_one_reading_tells_the_charge_there() -> None:
    trial = read("0.5")
    found = slope_from_readings([trial], {**REST, "clay": SUPPOSED}, "clay")
    assert isinstance(found, PowderReading)
    assert found.points[0][1] == pytest.approx(float(SLOPE * (OWN - trial[1])), rel=1e-6)
    assert (found.slope, found.own_ph) == (None, None)
    assert "second trial" in found.why


def test_two_readings_give_back_the_line() -> None:
    found = slope_from_readings([read("0.4"), read("0.9")], {**REST, "clay": SUPPOSED}, "clay")
    assert isinstance(found, PowderReading)
    assert found.slope == pytest.approx(0.045, rel=1e-6)
    assert found.own_ph == pytest.approx(9.2, rel=1e-6)


def test_contradicting_readings_give_no_line() -> None:
    trials = [(pot("0.4"), Fraction("4.5")), (pot("0.9"), Fraction("6.5"))]
    found = slope_from_readings(trials, {**REST, "clay": SUPPOSED}, "clay")
    assert isinstance(found, PowderReading)
    assert found.slope is None
    assert "contradict" in found.why


def test_what_cannot_be_told() -> None:
    trial = ({"water": Fraction(9)}, Fraction(5))
    assert isinstance(slope_from_readings([trial], REST, "clay"), Unknown)
    known: dict[str, ChargeProfile | Unknown] = {**REST, "oil": Unknown("what it is made of is not known")}
    pot_with_oil = ({**pot("1"), "oil": Fraction(1)}, Fraction(5))
    assert isinstance(slope_from_readings([pot_with_oil], known, "clay"), Unknown)
