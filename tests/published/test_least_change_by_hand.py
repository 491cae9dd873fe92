"""The least total change of a formula that brings a mean property to a target, against its closed form.

No publication: by exchange, move mass from the donor with the lowest property to the receiver with the
highest until the mean is reached; the total change is twice the mass moved. The closed form is computed
here, apart from any solver.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.core import load, optimum

Case = tuple[list[str], list[str], str, list[str], list[str]]
CASES: dict[str, Case] = {
    "swap_two": (["60", "40"], ["1", "5"], "3.4", ["0", "0"], ["100", "100"]),
    "swap_capped": (["50", "30", "20"], ["0", "2", "10"], "4", ["10", "0", "0"], ["100", "100", "30"]),
    "swap_chain": (
        ["40", "25", "20", "10", "5"],
        ["0.1", "0.4", "1.2", "3", "8"],
        "1.6",
        ["20", "5", "0", "0", "0"],
        ["100", "100", "100", "25", "8"],
    ),
}


def by_exchange(case: Case) -> Fraction:
    """Twice the mass moved, from the lowest donors to the highest receivers."""
    base, prop, low, high = ([Fraction(text) for text in case[i]] for i in (0, 1, 3, 4))
    missing = 100 * Fraction(case[2]) - sum(x * p for x, p in zip(base, prop, strict=True))
    donors = [[prop[i], base[i] - low[i]] for i in range(len(base))]
    receivers = [[prop[i], high[i] - base[i]] for i in reversed(range(len(base)))]
    moved = Fraction(0)
    while missing > 0:
        donor = next(d for d in donors if d[1])
        receiver = next(r for r in receivers if r[1])
        gain = receiver[0] - donor[0]
        step = min(donor[1], receiver[1], missing / gain)
        donor[1] -= step
        receiver[1] -= step
        missing -= step * gain
        moved += step
    return 2 * moved


@pytest.mark.parametrize(
    ("name", "known"), [("swap_two", "40"), ("swap_capped", "60"), ("swap_chain", "740/29")]
)
def test_the_model_and_the_closed_form_agree(name: str, known: str) -> None:
    """Exactly: 40, 60 and 740/29."""
    assert by_exchange(CASES[name]) == Fraction(known)
    assert optimum(load(name)) == Fraction(known)
