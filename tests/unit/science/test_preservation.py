"""Free undissociated preservative: rows, caps, mixtures, the low-risk lines."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.activity import DAVIES
from optimiser.science.preservation import (
    Claim,
    Preservative,
    Span,
    binding,
    binding_from_filtrate,
    claimed,
    dissolved_term,
    dose_needed,
    free,
    index,
    index_term,
    low_risk,
    needs_carrier,
    pka_shift,
    pot,
    row_term,
    undissociated,
)

BENZOIC = Preservative(Fraction("0.0005"), Fraction("4.204"), Fraction("5.33"), Fraction("0.0034"))
SORBIC = Preservative(Fraction("0.0004"), Fraction("4.76"), Fraction("2.2"))
WATER = Claim(water=Fraction(1))
OIL = Claim(oil=Fraction("1.09"))
CLAY = Claim(bound=binding(Fraction(1), Fraction(2)))
SOAP = Claim(water=Fraction("0.5"), bound=binding(Fraction("0.5"), Fraction(20)))
LINES = ((Fraction(60), WATER), (Fraction(10), OIL), (Fraction(20), CLAY), (Fraction(5), SOAP))


@pytest.mark.parametrize(("ph", "plain", "salted"), [("4.0", "61.5", "55.6"), ("5.0", "13.8", "11.1")])
def test_salt_shifts_the_pka(ph: str, plain: str, salted: str) -> None:
    """Davies at I = 0 and 0.1 mol/kg for benzoic acid."""
    shares = [100 * undissociated(Fraction(ph), BENZOIC.pka, pka_shift(Fraction(i))) for i in ("0", "0.1")]
    assert [round(share, 1) for share in shares] == [Fraction(plain), Fraction(salted)]


@pytest.mark.parametrize("strength", ["0", "0.005", "0.1", "0.3"])
def test_the_shift_is_that_of_the_charge_balance(strength: str) -> None:
    shift = DAVIES.mixed_pka(0.0, 0, float(strength))
    assert float(pka_shift(Fraction(strength))) == pytest.approx(shift, abs=1e-14)


def test_what_is_no_acid_is_all_active() -> None:
    assert undissociated(Fraction(9), None) == 1


def test_row_is_zero_at_the_dose_that_is_needed() -> None:
    alpha = undissociated(Fraction(5), BENZOIC.pka)
    whole = pot(LINES)
    dose = dose_needed(whole, BENZOIC, alpha)
    rows = sum(grams * row_term(Fraction(0), claim, BENZOIC, alpha) for grams, claim in LINES)
    assert rows + dose == 0
    assert free(dose, whole, BENZOIC, alpha) == BENZOIC.least


def test_oil_clay_and_soap_each_cost_preservative() -> None:
    alpha = undissociated(Fraction(5), BENZOIC.pka)
    needed = [dose_needed(pot(LINES[:count]), BENZOIC, alpha) for count in range(1, 5)]
    assert needed == sorted(set(needed))


def test_more_than_dissolves_gives_no_more() -> None:
    alpha, whole = undissociated(Fraction(3), BENZOIC.pka), pot(LINES)
    held = BENZOIC.solubility
    assert held is not None
    most = held * claimed(whole, BENZOIC, alpha)
    assert free(2 * most, whole, BENZOIC, alpha) == held
    assert needs_carrier(2 * most, whole, BENZOIC, alpha) == most
    assert needs_carrier(most, whole, BENZOIC, alpha) == 0
    rows = sum(grams * dissolved_term(Fraction(0), claim, BENZOIC, alpha) for grams, claim in LINES)
    assert rows == most


def test_solubility_that_is_not_known_makes_no_row() -> None:
    with pytest.raises(ValueError, match="no solubility"):
        dissolved_term(Fraction(1), WATER, SORBIC, Fraction(1))
    assert needs_carrier(Fraction(50), WATER, SORBIC, Fraction(1)) == 0


def test_free_in_a_pot_without_anything() -> None:
    assert free(Fraction(1), Claim(), SORBIC, Fraction(1)) == 0


def test_index_adds_up() -> None:
    whole = pot(LINES)
    alphas = [undissociated(Fraction(5), one.pka) for one in (BENZOIC, SORBIC)]
    half = [
        (one, dose_needed(whole, one, alpha) / 2, alpha)
        for one, alpha in zip((BENZOIC, SORBIC), alphas, strict=True)
    ]
    assert index(half, whole) == 1


def test_index_rows_enclose_the_full_index() -> None:
    whole = pot(LINES)
    both = [(one, undissociated(Fraction(5), one.pka)) for one in (BENZOIC, SORBIC)]
    exact = [(one, dose_needed(whole, one, alpha) / 2, alpha) for one, alpha in both]
    sums = {}
    for side in ("inner", "outer"):
        rest = [(one, alpha, Fraction(0)) for one, alpha in both]
        total = sum(grams * index_term(rest, claim, side) for grams, claim in LINES)
        for one, grams, alpha in exact:
            total += grams * index_term([(one, alpha, Fraction(1))], Claim(), side)
        sums[side] = total
    assert sums["inner"] < 0 < sums["outer"]


def test_one_preservative_has_one_row_only() -> None:
    alpha = undissociated(Fraction(5), SORBIC.pka)
    actives = [(SORBIC, alpha, Fraction("0.7"))]
    assert index_term(actives, SOAP, "inner") == index_term(actives, SOAP, "outer")


def test_binding_from_a_filtrate_comes_back() -> None:
    alpha = undissociated(Fraction(5), SORBIC.pka)
    whole = Claim(water=Fraction(60), bound=Fraction(20) * Fraction("1.5"))
    undissolved = free(Fraction("0.3"), whole, SORBIC, alpha)
    found = binding_from_filtrate(
        Fraction("0.3"), undissolved / alpha, Fraction(60), Fraction(0), Fraction(20)
    )
    assert found == Fraction("1.5")


def _span(low: str, high: str) -> Span:
    return Span(Fraction(low), Fraction(high))


@pytest.mark.parametrize(
    ("known", "met"),
    [
        ({}, ()),
        ({"ph": _span("2.5", "2.9")}, ("pH below 3",)),
        ({"ph": _span("2.5", "3")}, ()),
        ({"ph": _span("10.1", "11")}, ("pH above 10",)),
        ({"ph": _span("9.9", "11")}, ()),
        ({"water_activity": _span("0.6", "0.74")}, ("water activity below 0.75",)),
        ({"water_activity": _span("0.6", "0.75")}, ()),
        ({"ethanol": _span("21", "30")}, ("more than 20 % ethanol",)),
        ({"ethanol": _span("19", "30")}, ()),
        ({"water": _span("0", "0")}, ("free of water",)),
        ({"water": _span("0", "0.2")}, ()),
    ],
)
def test_low_risk_lines_hold_for_every_value(known: dict[str, Span], met: tuple[str, ...]) -> None:
    assert low_risk(**known) == met
