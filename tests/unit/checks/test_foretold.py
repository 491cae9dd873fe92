"""Natural origin, density, emulsions and what does not dissolve, on small pots reckoned by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.densities import density_of, without_density
from optimiser.checks.dissolving import undissolved
from optimiser.checks.emulsions import emulsion_of
from optimiser.checks.natural_origin import natural_origin, origin_claims
from optimiser.domain.ingredient import Ingredient, Part
from optimiser.domain.substance import Substance
from optimiser.loading.origin import with_origin_counted
from tests.points import pot
from tests.small import figure, ingredient

F = Fraction
WINDOW = (F("3.1"), F(5))


def made(name: str, kind: str, group: str, roles: str = "bulking", **figures: str) -> Ingredient:
    own = {key: figure(value) for key, value in figures.items()}
    return replace(ingredient(name, kind, group, "1", roles=roles), figures=own)


WATER = made("water", "water", "water", natural_origin="100", density="1", water_content="100")
OIL = made("oil", "ester", "ester", natural_origin="80", density="0.8", hlb_needed="12", water_content="0")
SORBIC = made("sorbic", "preservative-acid", "preservative", acid_solubility="0.15", water_content="0")
SORBIC = replace(SORBIC, composition=(Part("Sorbic Acid", F(100), F(100), F(100)),))
ACID = Substance("Sorbic Acid", "", "", F("112.128"), (F("4.76"),), -1, "", "test", "memory")
SUBSTANCES = {"sorbic acid": ACID}


def test_natural_origin_needs_a_figure_of_every_line() -> None:
    assert natural_origin(pot(("75", WATER), ("25", OIL))) == 95
    assert natural_origin(pot(("75", WATER), ("25", SORBIC))) is None


@pytest.mark.parametrize(("stated", "counts"), [("50", 0), ("45", 0), ("51", 51), ("100", 100)])
def test_a_single_material_at_half_or_below_counts_as_none(stated: str, counts: int) -> None:
    one = made("one", "ester", "ester", natural_origin=stated)
    counted = with_origin_counted(one.figures, one.composition)["natural_origin"]
    assert {counted.value, counted.low, counted.high} == {F(counts)}
    assert ("ISO 16128" in counted.source) is (F(stated) != counts)


def test_a_blend_and_an_unknown_make_up_stay_as_stated() -> None:
    one = made("one", "perfume", "scent", natural_origin="40")
    half = Part("A", F(50), F(50), F(50))
    for composition in (None, (half, replace(half, substance="B"))):
        assert with_origin_counted(one.figures, composition)["natural_origin"].value == 40


@pytest.mark.parametrize(
    ("text", "share", "holds"),
    [
        ("natural origin at least 95 %", "95", True),
        ("natural origin at least 95 %", "94.99", False),
        ("98,5 % natural origin", "98.5", True),
        ("natural-origin at most 60 %", "61", False),
    ],
)
def test_a_claim_with_a_number_is_compared(text: str, share: str, holds: bool) -> None:
    (claim,) = origin_claims((text, "vegan", "30 % more rose"))
    assert claim.holds(F(share)) is holds


def test_volumes_add_up_and_air_widens_the_band_downwards() -> None:
    found = density_of(pot(("60", WATER), ("40", OIL)))
    assert found is not None
    assert found.value == round(F(100) / (60 + 50), 3)
    assert found.low == round(F(100) / 110 * F("0.92"), 3)
    assert found.high == round(F(100) / 110 * F("1.02"), 3)
    middle, least, most = found.ml(F(100))
    assert least < middle < most
    assert found.grams(middle)[0] == 100


def test_a_line_without_density_leaves_it_unknown_and_is_named() -> None:
    amounts = pot(("60", WATER), ("40", SORBIC))
    assert density_of(amounts) is None
    assert without_density(amounts) == ("Sorbic",)


def test_the_blend_is_told_for_uncharged_emulsifiers_alone() -> None:
    tween = made("tween", "emulsifier-nonionic", "emulsifier", "emulsifying", hlb="15")
    span = made("span", "emulsifier-nonionic", "emulsifier", "emulsifying", hlb="4.3")
    salt = made("salt", "emulsifier-anionic", "emulsifier", "emulsifying", hlb="20")
    stiff = made("cetyl", "fatty-alcohol", "fatty-alcohol", hlb_needed="15")
    found = emulsion_of(pot(("80", WATER), ("9", OIL), ("6", stiff), ("4.5", tween), ("0.5", span)))
    assert found is not None
    assert found.demand is not None
    assert found.blend is not None
    assert (found.oils, found.emulsifiers) == (F(15), F(5))
    assert found.stabilisers == ("Cetyl",)
    assert found.demand.value == F(9 * 12 + 6 * 15, 15)
    assert found.blend.value == F("13.93")
    for told in (found.demand, found.blend):
        assert (told.low, told.high) == (told.value - 1, told.value + 1)
    charged = emulsion_of(pot(("80", WATER), ("15", OIL), ("5", salt)))
    assert charged is not None
    assert charged.blend is None
    assert "Salt" in charged.untold[0]


def test_what_plant_oils_ask_for_is_known_to_two_and_data_may_be_wider_still() -> None:
    tween = made("tween", "emulsifier-nonionic", "emulsifier", "emulsifying", hlb="15")
    nut = made("nut", "nut", "oil", hlb_needed="7")
    wide = replace(nut, figures={"hlb_needed": replace(figure("7"), low=F(4), high=F(10))})
    for oil, ends in ((nut, (5, 9)), (wide, (4, 10))):
        found = emulsion_of(pot(("80", WATER), ("15", oil), ("5", tween)))
        assert found is not None
        assert found.demand is not None
        assert (found.demand.value, found.demand.low, found.demand.high) == (F(7), *map(F, ends))


def test_no_water_no_oil_or_no_emulsifier_is_no_emulsion() -> None:
    tween = made("tween", "emulsifier-nonionic", "emulsifier", "emulsifying", hlb="15")
    assert emulsion_of(pot(("95", OIL), ("5", tween))) is None
    assert emulsion_of(pot(("95", WATER), ("5", tween))) is None
    assert emulsion_of(pot(("95", WATER), ("5", OIL))) is None


def test_an_acid_beyond_what_water_holds_at_the_lowest_ph_stays_out() -> None:
    """At pH 3.1 and pKa 4.76 water holds 0.15 % / 0.979 of sorbic acid; 99.5 g hold 0.153 g of 0.5."""
    (found,) = undissolved(pot(("99.5", WATER), ("0.5", SORBIC)), WINDOW, SUBSTANCES)
    assert found.surely
    assert found.ph == F("3.1")
    assert abs(found.out - (F("0.5") - F("0.15") * F("99.5") / 100 * F("1.0219"))) < F(1, 10000)


def test_within_what_water_holds_nothing_is_said_and_polyol_makes_it_a_maybe() -> None:
    glycol = made("glycol", "polyol", "polyol", water_content="0")
    assert undissolved(pot(("99.9", WATER), ("0.1", SORBIC)), WINDOW, SUBSTANCES) == ()
    (found,) = undissolved(pot(("89.5", WATER), ("10", glycol), ("0.5", SORBIC)), WINDOW, SUBSTANCES)
    assert not found.surely
    assert undissolved(pot(("99.5", OIL), ("0.5", SORBIC)), WINDOW, SUBSTANCES) == ()
    assert undissolved(pot(("99.5", WATER), ("0.5", SORBIC)), None, SUBSTANCES) == ()


def test_two_lines_of_one_acid_are_taken_together() -> None:
    twin = replace(SORBIC, id="twin")
    amounts = pot(("99.8", WATER), ("0.1", SORBIC), ("0.1", twin))
    (found,) = undissolved(amounts, WINDOW, SUBSTANCES)
    assert found.dose == F("0.2")


@pytest.mark.parametrize(("dose", "told"), [("1.0099", False), ("1.01", True), ("1.015", True)])
def test_a_hundredth_of_a_per_cent_is_the_least_that_is_told(dose: str, told: bool) -> None:
    """50 g of water hold 1 g, or 0.99 g at the least."""
    camphor = made("camphor", "active", "active", solubility="2", water_content="0")
    clay = made("clay", "clay", "clay", water_content="0")
    rest = str(50 - F(dose))
    found = undissolved(pot(("50", WATER), (rest, clay), (dose, camphor)), WINDOW, SUBSTANCES)
    assert [(one.out, one.surely) for one in found] == ([(F(dose) - 1, True)] if told else [])
    spread = replace(figure("2"), low=F("1.98"))
    wide = replace(camphor, figures={**camphor.figures, "solubility": spread})
    (maybe,) = undissolved(pot(("50", WATER), (rest, clay), (dose, wide)), WINDOW, SUBSTANCES)
    assert (maybe.worst, maybe.surely) == (F(dose) - F("0.99"), told)
