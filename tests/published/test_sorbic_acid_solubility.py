"""Sorbic acid in water at 20 C, per cent.

Food Additives Data Book, p. 733: 0.15 at pH 3.1, 0.22 at 4.4, 1.02 at 5.9; 0.07 in 10 % salt. pKa 4.76.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.preservation import undissociated
from optimiser.science.solubility import holds, in_salt, salt_constant, uncapped

PKA = Fraction("4.76")
PURE = Fraction("0.15") * undissociated(Fraction("3.1"), PKA)


@pytest.mark.parametrize(("ph", "read"), [("3.1", "0.15"), ("4.4", "0.22")])
def test_within_five_percent_below_the_pka(ph: str, read: str) -> None:
    assert abs(holds(PURE, Fraction(ph), PKA) / Fraction(read) - 1) < Fraction("0.05")


def test_plain_law_promises_twice_too_much_far_above_it() -> None:
    assert Fraction("2.0") < uncapped(PURE, Fraction("5.9"), PKA) / Fraction("1.02") < Fraction("2.2")


def test_cap_stays_below_what_was_read() -> None:
    assert holds(PURE, Fraction("5.9"), PKA) == 2 * PURE < Fraction("1.02")


def test_salt() -> None:
    molality = Fraction(10) / Fraction("58.443") / Fraction(90) * 1000
    constant = salt_constant(Fraction("0.15"), Fraction("0.07"), molality)
    assert Fraction("0.17") < constant < Fraction("0.18")
    assert abs(in_salt(Fraction("0.15"), constant, molality) - Fraction("0.07")) < Fraction(1, 10**12)
    assert in_salt(Fraction("0.15"), constant, molality / 2) > Fraction("0.07")
