from __future__ import annotations

from fractions import Fraction
from math import log10

import pytest

from optimiser.science.acidity import solve_ph
from optimiser.science.activity import IDEAL
from optimiser.science.charge import ChargeProfile, Unknown
from optimiser.science.ion_pairs import Pair, solve_ph_with_pairs
from tests.solutions import solution

ONE = {"pot": Fraction(100)}


def pot(profile: ChargeProfile) -> dict[str, ChargeProfile | Unknown]:
    return {"pot": profile}


def test_nothing_changes_without_sodium_or_without_what_holds_it() -> None:
    for profile in (solution({"citric acid": "0.1"}), solution({"lactic acid": "0.1"}, "0.05")):
        assert solve_ph_with_pairs(ONE, pot(profile)) == solve_ph(ONE, pot(profile))


def test_a_pair_that_hardly_forms_changes_nothing() -> None:
    citrate = pot(solution({"citric acid": "0.05"}, "0.1"))
    plain, paired = (
        solve_ph(ONE, citrate),
        solve_ph_with_pairs(ONE, citrate, pairs=[Pair("Citric Acid", 3, -30)]),
    )
    assert paired.ph == pytest.approx(plain.ph, abs=1e-9)
    assert paired.ionic_strength == pytest.approx(plain.ionic_strength, abs=1e-9)


def test_held_sodium_lowers_ph_and_ionic_strength() -> None:
    citrate = pot(solution({"citric acid": "0.05"}, "0.125"))
    plain, paired = solve_ph(ONE, citrate), solve_ph_with_pairs(ONE, citrate)
    assert plain.ph is not None
    assert paired.ph is not None
    assert plain.ph - 0.2 < paired.ph < plain.ph - 0.05
    assert paired.ionic_strength < plain.ionic_strength


def test_a_pair_by_hand() -> None:
    """Without activity: a = 0.05 + [H+] lost its proton, of it K free a/(1 + K free) holds sodium; K = 10.

    0.05 = free + a 10 free/(1 + 10 free) with a = 0.05 gives free = (sqrt(3) - 1)/20 = 0.0366, and the pH is
    3.86 - log10(1 + 10 free) + log10(a/(0.1 - a)).
    """
    lactate = pot(solution({"lactic acid": "0.1"}, "0.05"))
    found = solve_ph_with_pairs(ONE, lactate, pairs=[Pair("Lactic Acid", 1, 1.0)], activity=IDEAL)
    assert found.ph is not None
    lost = 0.05 + 10**-found.ph
    expected = 3.86 - log10(1 + 10 * 0.0366) + log10(lost / (0.1 - lost))
    assert found.ph == pytest.approx(expected, abs=1e-3)


def test_unknowns_are_told_as_ever() -> None:
    assert solve_ph_with_pairs(ONE, {}).why == ("pot: no data on its charge",)
