from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.domain.ingredient import Part
from optimiser.loading.reference import load_substances
from optimiser.science.acidity import ph_range, solve_ph
from optimiser.science.charge import ChargeProfile, Unknown
from optimiser.science.profiles import profile_of
from optimiser.science.salts import SOAP
from tests.solutions import acid, figure, part


def made(*parts: Part) -> ChargeProfile:
    found = profile_of(parts, load_substances(), {})
    assert isinstance(found, ChargeProfile)
    return found


def reason(*parts: Part) -> str:
    found = profile_of(parts, load_substances(), {})
    assert isinstance(found, Unknown)
    return found.reason


def test_an_acid_by_its_molar_mass() -> None:
    found = made(part("Citric Acid", 20), part("Aqua", 80))
    assert found.acids == (acid("citric acid", 200 / Fraction("192.1235")),)
    assert found.water == Fraction(4, 5)
    assert found.ions == ()


def test_a_salt_is_its_acid_and_its_counter_ion_by_the_salt_s_mass() -> None:
    found = made(part("Sodium Benzoate", 100))
    amount = 1000 / Fraction("144.105")
    assert found.acids == (acid("benzoic acid", amount),)
    assert [(ion.name, ion.charge, ion.amount) for ion in found.ions] == [("Na+", 1, amount)]


@pytest.mark.parametrize(
    ("name", "acids", "charge"),
    [
        ("Sodium Citrate", 1, 3),
        ("Sodium Bicarbonate", 1, 1),
        ("Sodium Borate", 4, 2),
        ("Calcium Propionate", 2, 2),
        ("Potassium Sorbate", 1, 1),
    ],
)
def test_ions_of_a_formula(name: str, acids: int, charge: int) -> None:
    found = made(part(name, 100))
    mass = load_substances()[name.casefold()].molar_mass
    assert mass is not None
    assert found.acids[0].amount == acids * 1000 / mass
    assert found.strong_charge == charge * 1000 / mass


def test_a_salt_of_two_weak_partners_has_no_strong_ion() -> None:
    found = made(part("TEA-Salicylate", 100))
    assert {a.substance for a in found.acids} == {"Salicylic Acid", "Triethanolamine"}
    assert found.strong_charge == 0


def test_a_salt_no_table_lists_by_exchange_of_its_proton() -> None:
    found = made(part("Sodium Levulinate", 100))
    assert found.strong_charge == 1000 / (Fraction("116.1152") + Fraction("22.990") - Fraction("1.008"))


def test_salt_and_acid_with_alkali_are_the_same() -> None:
    """5 mmol of sodium benzoate, or of benzoic acid and of sodium hydroxide."""
    known = {
        "water": ChargeProfile(water=Fraction(1)),
        "salt": made(part("Sodium Benzoate", 100)),
        "acid": made(part("Benzoic Acid", 100)),
        "lye": made(part("Sodium Hydroxide", 100)),
    }
    five = Fraction(5, 1000)
    one = {"water": Fraction(100), "salt": five * Fraction("144.105")}
    two = {"water": Fraction(100), "acid": five * Fraction("122.123"), "lye": five * Fraction("39.9971")}
    assert solve_ph(one, known).ph == pytest.approx(solve_ph(two, known).ph, abs=1e-9)


def test_neutral_substances_add_nothing_and_unlisted_ones_are_named() -> None:
    found = made(part("Glycerin", 60), part("Xanthan Gum", 40))
    assert (found.acids, found.ions) == ((), ())
    assert found.glycol == Fraction(3, 5)
    assert found.as_neutral == ("Xanthan Gum",)


@pytest.mark.parametrize(
    "name",
    ["4-Hydroxybenzoic Acid", "Undecylenic Acid", "Sodium Phytate", "Disodium EDTA",
     "Zinc Gluconate", "Potassium Olivate", "Cocamidopropyl Dimethylamine"],
)  # fmt: skip
def test_an_acid_base_or_salt_without_constants_is_unknown(name: str) -> None:
    assert name in reason(part(name, 1), part("Aqua", 99))


@pytest.mark.parametrize(
    "name", ["Potassium Olivate", "Sodium Palm Kernelate", "Sodium Stearate", "TEA-Stearate"]
)
def test_a_soap_says_that_the_prediction_does_not_hold_it(name: str) -> None:
    assert reason(part(name, 10)) == f"{name}: {SOAP}"


@pytest.mark.parametrize("name", ["Glyceryl Stearate", "Isopropyl Palmitate", "Cetearyl Olivate"])
def test_an_ester_of_a_fatty_acid_is_no_soap(name: str) -> None:
    assert made(part(name, 10)).as_neutral == (name,)


def test_a_share_known_from_to_counts_at_its_middle_and_carries_its_spread() -> None:
    share = Part("Sodium Benzoate", Fraction(30), Fraction(20), Fraction(35))
    found = made(share, part("Aqua", 70))
    assert found.acids[0].amount == 300 / Fraction("144.105")
    (spread,) = found.spreads
    assert (spread.below, spread.above) == (Fraction(-1, 10), Fraction(1, 20))
    assert spread.strong == 1000 / Fraction("144.105")
    assert spread.acids == (acid("benzoic acid", 1000 / Fraction("144.105")),)


def test_what_brings_no_charge_carries_no_spread() -> None:
    wide = Part("Glycerin", Fraction(50), Fraction(0), Fraction(100))
    assert made(wide, Part("Aqua", Fraction(50), Fraction(0), Fraction(100))).spreads == ()


def test_gluconolactone_counts_as_turned_and_from_none_of_it_to_all() -> None:
    """Mole for mole to gluconic acid: 178.14 g give one."""
    found = made(part("Gluconolactone", 100))
    assert found.acids == (acid("gluconic acid", 1000 / Fraction("178.14")),)
    assert found.turning == ("Gluconolactone",)
    (spread,) = found.spreads
    assert (spread.below, spread.above) == (Fraction(-1), Fraction(0))
    pot = {"water": Fraction(99), "lactone": Fraction(1)}
    known = {"water": ChargeProfile(water=Fraction(1)), "lactone": found}
    fresh, turned = ph_range(pot, known) or (0, 0), solve_ph(pot, known)
    assert fresh[1] == pytest.approx(7, abs=0.01)
    assert turned.ph == pytest.approx(fresh[0])
    assert any("Gluconolactone turns into acid over hours" in why for why in turned.why)


def test_carbomer_is_an_acid_on_a_chain_whose_constant_drifts() -> None:
    """Half a per cent unneutralised reads near 3 (a sheet's usual 2.5 to 3.5); half neutralised near 6."""
    found = made(part("Carbomer", 100))
    assert found.acids[0].off == 1
    (spread,) = found.spreads
    assert spread.below < 0 < spread.above
    lye = made(part("Sodium Hydroxide", 100))
    known = {"water": ChargeProfile(water=Fraction(1)), "gum": found, "lye": lye}
    bare = ph_range({"water": Fraction(99), "gum": Fraction("0.5")}, known)
    half = {"water": Fraction(99), "gum": Fraction("0.5"), "lye": Fraction("0.13")}
    assert bare is not None
    assert bare[0] < 3.2 < bare[1]
    middle, ends = solve_ph(half, known).ph, ph_range(half, known)
    assert middle == pytest.approx(5.9, abs=0.2)
    assert ends is not None
    assert ends[1] - ends[0] > 1.8


def test_an_emulsifier_with_soap_in_it_is_not_told() -> None:
    found = profile_of([part("Glyceryl Stearate SE", 100)], load_substances(), {}, inert=True)
    assert found == Unknown(f"Glyceryl Stearate SE: {SOAP}")


def test_ascorbic_acid_has_two_constants() -> None:
    assert made(part("Ascorbic Acid", 10)).acids[0].pka == (Fraction("4.17"), Fraction("11.57"))


def test_every_fault_is_told() -> None:
    told = reason(part("Sodium Phytate", 1), part("Zinc PCA", 1))
    assert "Sodium Phytate" in told
    assert "Zinc PCA" in told


def test_a_powder_is_its_line_and_its_composition_adds_nothing() -> None:
    figures = {"buffer_slope": figure("0.4", "0.8", "1.4"), "powder_ph": figure("7.5", "8.3", 9)}
    found = profile_of(
        [part("Illite", 88), part("Calcium Carbonate", 12)], load_substances(), figures, powder=True
    )
    assert isinstance(found, ChargeProfile)
    assert found.acids == ()
    assert found.buffers[0].slope == (Fraction("0.4"), Fraction("0.8"), Fraction("1.4"))


def test_a_powder_without_its_line_is_unknown_not_nought() -> None:
    found = profile_of([part("Illite", 100)], load_substances(), {"powder_ph": figure(7, 8, 9)}, powder=True)
    assert isinstance(found, Unknown)


def test_unknown_composition_is_unknown_unless_it_stays_out_of_the_water() -> None:
    assert isinstance(profile_of(None, load_substances(), {}), Unknown)
    assert isinstance(profile_of(None, load_substances(), {"water_content": figure(5, 5, 5)}), Unknown)
    assert profile_of(None, load_substances(), {}, inert=True) == ChargeProfile()
    pure = profile_of(None, load_substances(), {"water_content": figure(100, 100, 100)})
    assert pure == ChargeProfile(water=Fraction(1))


def test_open_carbonate_is_alkali_alone() -> None:
    found = profile_of([part("Sodium Bicarbonate", 100)], load_substances(), {}, carbonic="open")
    assert isinstance(found, ChargeProfile)
    assert found.acids == ()
    assert found.strong_charge > 0
    assert found.carbonate
