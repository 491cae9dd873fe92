"""Benzoic acid that halves the growth of a mould, at two pH.

R. A. Anderson & C. E. Chow 1967, J. Soc. Cosmet. Chem. 18:207: 0.055 % at pH 4.2 and 0.190 % at pH 5.2,
with pKa 4.2, which they give as 0.027 % and 0.019 % undissociated. The second figure does not follow from
their own pKa, which gives 0.0173 %.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.preservation import Claim, Preservative, dose_needed, free, undissociated

BENZOIC = Preservative(least=Fraction("0.00027"), pka=Fraction("4.2"))
WATER = Claim(water=Fraction(100))


@pytest.mark.parametrize(
    ("ph", "dose", "said", "within"), [("4.2", "0.055", "0.027", "0.02"), ("5.2", "0.190", "0.019", "0.10")]
)
def test_undissociated_at_the_dose_that_works(ph: str, dose: str, said: str, within: str) -> None:
    alpha = undissociated(Fraction(ph), BENZOIC.pka)
    found = 100 * free(Fraction(dose), WATER, BENZOIC, alpha)
    assert abs(found / Fraction(said) - 1) <= Fraction(within)


def test_dose_rises_with_ph_as_they_saw() -> None:
    """Same free dose: 0.054 g at pH 4.2 and 0.297 g at 5.2 in 100 ml; they needed 0.190, less than that."""
    low, high = (
        dose_needed(WATER, BENZOIC, undissociated(Fraction(ph), BENZOIC.pka)) for ph in ("4.2", "5.2")
    )
    assert low == Fraction("0.054")
    assert Fraction("0.190") < high == Fraction("0.297")
