"""HLB of blends, of an ester, and of a worked emulsion.

Blends of polysorbate 80 (15.0) and sorbitan oleate (4.3): PMC4137601, Table 2. Polysorbate 20 from
saponification number 45.5 and acid number 276: W. C. Griffin 1954 (numbers from memory), published 16.7.
Worked emulsion: mineral oil and paraffin, lanolin, cetyl alcohol (scribd 672866704): required 12, 5 % of a
pair of HLB 15 and 4.3.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.emulsion import griffin_ester, mean, mismatch, two_emulsifiers

HIGH, LOW = Fraction(15), Fraction("4.3")
OILS = [
    (Fraction(33), Fraction(12)),
    (Fraction(2), Fraction(12)),
    (Fraction(1), Fraction(10)),
    (Fraction(1), Fraction(15)),
]


@pytest.mark.parametrize(("parts", "read"), [(9, "13.93"), (8, "12.86"), (7, "11.79")])
def test_blends(parts: int, read: str) -> None:
    assert mean([(Fraction(parts), HIGH), (Fraction(10 - parts), LOW)]) == Fraction(read)


def test_ester() -> None:
    assert round(griffin_ester(Fraction("45.5"), Fraction(276)), 1) == Fraction("16.7")


def test_worked_emulsion() -> None:
    asked = mean(OILS)
    assert asked is not None
    assert round(asked, 2) == Fraction("12.03")
    share = two_emulsifiers(LOW, HIGH, Fraction(12))
    assert round(100 * share, 1) == Fraction("72.0")
    assert round(5 * share, 1) == Fraction("3.6")
    off = mismatch([(5 * share, HIGH), (5 * (1 - share), LOW)], OILS)
    assert off is not None
    assert abs(off) < Fraction("0.03")
