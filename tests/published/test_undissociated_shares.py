"""Undissociated share of acid preservatives against pH.

D. C. Steinberg 2005, J. Cosmet. Sci. 56(5):361, table of acids: per cent of the active form at pH 3 to 7,
with the pKa the table states. It is ideal: no salt. Glycolic acid: 10 % at pH 3 leaves 8.7 % free (lecture
notes).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.preservation import pka_shift, undissociated

TABLE = [
    ("dehydroacetic", "5.27", ("100", "95", "65", "16", "2")),
    ("benzoic", "4.20", ("94", "61", "13", "1.5", "0")),
    ("sorbic", "4.76", ("98", "85", "37", "5.5", "0")),
]
CELLS = [
    pytest.param(pka, ph, share, id=f"{acid}-{ph}")
    for acid, pka, shares in TABLE
    for ph, share in zip(range(3, 8), shares, strict=True)
]
POINTS = Fraction("0.8")


@pytest.mark.parametrize(("pka", "ph", "share"), CELLS)
def test_share_of_the_table(pka: str, ph: int, share: str) -> None:
    assert abs(100 * undissociated(Fraction(ph), Fraction(pka)) - Fraction(share)) <= POINTS


def test_glycolic_acid_at_ph_3() -> None:
    assert round(10 * undissociated(Fraction(3), Fraction("3.83")), 1) == Fraction("8.7")


def test_salt_takes_up_to_six_points_from_the_ideal_table() -> None:
    shift = pka_shift(Fraction("0.1"))
    losses = [
        100 * (undissociated(Fraction(ph), Fraction(pka)) - undissociated(Fraction(ph), Fraction(pka), shift))
        for _, pka, _ in TABLE
        for ph in range(3, 8)
    ]
    assert all(loss > 0 for loss in losses)
    assert Fraction(5) < max(losses) < Fraction("6.5")
