"""Power laws, equivalents, mixtures, salt, pH, synergy."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.science.thickness import (
    Gum,
    Sensitivity,
    dose_for,
    equivalent,
    law_from_readings,
    mixture_viscosity,
    neutralised,
    neutraliser_terms,
    row_term,
    strength_from_reading,
    synergies,
    under,
    viscosity,
)

XANTHAN = Gum(Fraction(11), Fraction(2), Fraction("0.2"))
KONJAC = Gum(Fraction(52), Fraction("3.73"), Fraction("0.6"))
CLOSE = Fraction(1, 10**12)


def test_power_law() -> None:
    assert viscosity(XANTHAN, Fraction("0.4")) == Fraction("1.76")
    assert dose_for(XANTHAN, Fraction("1.76")) == Fraction("0.4")


def test_thinner_when_stirred() -> None:
    assert viscosity(XANTHAN, Fraction(1), Fraction(32)) == Fraction(11) / 16


def test_dose_of_konjac_for_some_xanthan() -> None:
    dose = equivalent(Fraction("0.4"), XANTHAN, KONJAC)
    assert abs(viscosity(KONJAC, dose) / viscosity(XANTHAN, Fraction("0.4")) - 1) < CLOSE
    assert Fraction("0.40") < dose < Fraction("0.41")


def test_the_shear_matters_to_what_is_equivalent() -> None:
    assert equivalent(Fraction("0.4"), XANTHAN, KONJAC, Fraction(50)) < equivalent(
        Fraction("0.4"), XANTHAN, KONJAC
    )


def test_a_mixture_of_one_gum_with_itself_is_that_gum() -> None:
    parts = [(XANTHAN, Fraction("0.1")), (XANTHAN, Fraction("0.3"))]
    assert abs(mixture_viscosity(parts) / viscosity(XANTHAN, Fraction("0.4")) - 1) < CLOSE


def test_half_of_each_gives_the_same() -> None:
    eta = Fraction(3)
    parts = [(gum, dose_for(gum, eta) / 2) for gum in (XANTHAN, KONJAC)]
    assert abs(mixture_viscosity(parts) / eta - 1) < CLOSE


def test_nothing_thickens_nothing() -> None:
    assert mixture_viscosity([]) == 0
    assert mixture_viscosity([(XANTHAN, Fraction(0))]) == 0


def test_row_is_zero_at_the_target() -> None:
    eta, water = Fraction(3), Fraction(60)
    grams = [dose_for(gum, eta) / 2 * water / 100 for gum in (XANTHAN, KONJAC)]
    total = sum(
        one * row_term(gum, Fraction(0), eta) for one, gum in zip(grams, (XANTHAN, KONJAC), strict=True)
    )
    assert abs(total + water * row_term(None, Fraction(1), eta)) < CLOSE


def test_rows_are_rounded_against_the_proposal() -> None:
    eta = Fraction(3)
    down, up = (row_term(KONJAC, Fraction(0), eta, towards=side) for side in ("down", "up"))
    assert down < up
    assert (up - down) / up < CLOSE


@pytest.mark.parametrize(("salt", "share"), [("0", "1"), ("0.1", "0.5"), ("0.3", "0.25")])
def test_salt_takes_body(salt: str, share: str) -> None:
    found = under(XANTHAN, Sensitivity(salt_half=Fraction("0.1")), ph=None, salt=Fraction(salt))
    assert found is not None
    assert found.at_one == XANTHAN.at_one * Fraction(share)


@pytest.mark.parametrize(("ph", "there"), [("4.9", False), ("5", True), ("9", True), ("9.1", False)])
def test_outside_its_ph_nothing_is_predicted(ph: str, there: bool) -> None:
    touchy = Sensitivity(ph_from=Fraction(5), ph_to=Fraction(9))
    assert (under(XANTHAN, touchy, ph=Fraction(ph), salt=Fraction(0)) is not None) is there


def test_a_ph_that_is_not_known_predicts_nothing_for_a_touchy_one() -> None:
    assert under(XANTHAN, Sensitivity(ph_from=Fraction(5)), ph=None, salt=Fraction(0)) is None
    assert under(XANTHAN, Sensitivity(), ph=None, salt=Fraction(0)) == XANTHAN


def test_carbomer_is_half_neutralised_at_its_apparent_pka() -> None:
    assert neutralised(Fraction(6)) == Fraction(1, 2)
    assert Fraction("0.03") < neutralised(Fraction(3)) < Fraction("0.04")


def test_neutraliser_between_half_and_nine_tenths() -> None:
    acid, base = Fraction("13.4"), Fraction("6.7")
    enough, too_much = neutraliser_terms(acid, base)
    assert enough == 0
    assert too_much < 0


def test_synergy_is_told_in_order() -> None:
    names = {"Xanthan Gum", "Ceratonia Siliqua Gum", "Carrageenan", "Aqua"}
    assert synergies(names) == (
        ("Xanthan Gum", "Ceratonia Siliqua Gum", "thicker together than the sum"),
        ("Carrageenan", "Ceratonia Siliqua Gum", "set to a gel together"),
    )
    assert synergies({"Xanthan Gum", "Carrageenan"}) == ()


def test_readings_give_the_law_back() -> None:
    strength, exponent = law_from_readings(
        (Fraction("0.5"), viscosity(KONJAC, Fraction("0.5"))), (Fraction(1), viscosity(KONJAC, Fraction(1)))
    )
    assert abs(exponent - KONJAC.power) < CLOSE
    assert abs(strength - KONJAC.at_one) < CLOSE * 100
    assert strength_from_reading(Fraction("1.76"), Fraction("0.4"), Fraction(2)) == 11
