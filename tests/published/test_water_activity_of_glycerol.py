"""Water activity of glycerol in water at 25 C.

Handbook pairs (memory): the mass per cent of glycerol that gives 0.95, 0.90 ... 0.60. Norrish K 1.16 (memory;
form as in Baeza et al. 2010).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.water_activity import Solute, water_activity

GLYCEROL = Solute(Fraction("92.0938"), Fraction("1.16"))
IDEAL = Solute(Fraction("92.0938"))
PAIRS = [("20", "0.95"), ("33", "0.90"), ("43.5", "0.85"), ("51", "0.80"), ("58", "0.75")]
BELOW = [("64", "0.70"), ("72", "0.60")]


def _activity(solute: Solute, percent: str) -> Fraction:
    found = water_activity([(solute, Fraction(percent))], 100 - Fraction(percent))
    assert found is not None
    return found


@pytest.mark.parametrize(("percent", "read"), PAIRS)
def test_within_five_thousandths_down_to_three_quarters(percent: str, read: str) -> None:
    assert abs(_activity(GLYCEROL, percent) - Fraction(read)) <= Fraction("0.005")


@pytest.mark.parametrize(("percent", "read"), BELOW)
def test_reads_too_low_beyond_the_stated_range(percent: str, read: str) -> None:
    assert Fraction("0.010") < Fraction(read) - _activity(GLYCEROL, percent) < Fraction("0.020")


@pytest.mark.parametrize(("percent", "read"), [*PAIRS, *BELOW])
def test_ideal_reads_too_high(percent: str, read: str) -> None:
    error = _activity(IDEAL, percent) - Fraction(read)
    assert 0 < error < Fraction("0.07")
    assert _activity(IDEAL, percent) > _activity(GLYCEROL, percent)
