"""Rows of what the science foretells, coefficient by coefficient, on lines reckoned by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.ingredient import Figure, Ingredient, Part
from optimiser.domain.request import LabelLimit, Request, Slot
from optimiser.domain.rules import Forecast, ForecastOf, FreeLiquid
from optimiser.domain.substance import Substance
from optimiser.lp.build import build
from optimiser.model.rows import Row
from optimiser.science.acidity_rows import buffer_per_gram
from optimiser.science.charge import ChargeProfile
from optimiser.science.formula import profiles_for
from tests.points import rows_of
from tests.small import figure, fr, head, ingredient, request

WINDOW = (fr("3.1"), fr(5))
HALF_LOST = Substance("Sorbic Acid", "", "", fr("112.128"), (fr("3.1"),), -1, "", "test", "memory")
"""At the foot of the window half of it has lost its proton, so the water holds twice as much."""
SUBSTANCES = {"sorbic acid": HALF_LOST}


def made(name: str, group: str, part: str = "", share: str = "100", **figures: str) -> Ingredient:
    parts = (Part(part or name.title(), fr(share), fr(share), fr(share)),)
    own = {key: figure(value) for key, value in figures.items()}
    return replace(ingredient(name, group, group, "1"), figures=own, composition=parts)


TABLE = {
    one.id: one
    for one in (
        made("camphor", "active", solubility="2", oil_partition="10", water_content="0"),
        made("lotion", "emulsion", water_content="30"),
        made("nut", "oil", density="0.9", water_content="0"),
        made("sorbic", "preservative", "Sorbic Acid", acid_solubility="0.15", water_content="0"),
        made("twin", "preservative", "Sorbic Acid", acid_solubility="0.12", water_content="0"),
        made("water", "water"),
        made("wax", "wax", water_content="0"),
    )
}


def asked(rule: Forecast | FreeLiquid, table: Mapping[str, Ingredient] = TABLE, **changed: object) -> Request:
    plain = replace(
        request(),
        rules=(rule,),
        ingredients=dict(table),
        slots=tuple(Slot(name, "A") for name in sorted(table)),
        base={Slot("water", "A"): fr(100)},
        filler=Slot("water", "A"),
        newcomers=frozenset(),
        pulls=(),
        ph_window=WINDOW,
        substances=SUBSTANCES,
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


def forecast(of: ForecastOf, low: str | None = None, high: str | None = None) -> Forecast:
    return Forecast(head("r"), of, None if low is None else fr(low), None if high is None else fr(high), True)


def rows(request: Request, *, lenient: bool = False) -> dict[str, Row]:
    return rows_of(build(request, lenient=lenient), "test#r")


def coefs(row: Row) -> dict[str, Fraction]:
    return {name.removeprefix("x:").removesuffix("@A"): value for name, value in row.coef}


def test_what_stays_out_is_what_is_there_less_what_water_and_oil_hold() -> None:
    """A wax without a density counts as the lightest oil, 0.8 g/ml, a line of unknown water as all water."""
    found = rows(asked(forecast("undissolved", high="0.2")))
    own = {
        "camphor": fr(1),
        "lotion": -fr("0.02") * fr("0.3"),
        "nut": -fr("0.2") / fr("0.9"),
        "wax": -fr("0.2") / fr("0.8"),
        "water": -fr("0.02"),
        "u:test#r:1": -fr(1),
    }
    assert coefs(found["solubility:camphor"]) == own
    assert (found["solubility:camphor"].lower, found["solubility:camphor"].upper) == (None, fr(0))
    assert coefs(found["most"]) == {"u:test#r:0": 1, "u:test#r:1": 1}
    assert found["most"].upper == fr("0.2")


def test_lines_of_one_acid_share_a_row_with_the_strictest_of_their_numbers() -> None:
    """0.12 % of the acid as such; at its constant as much again of its salt."""
    found = rows(asked(forecast("undissolved", high="0")))
    row = coefs(found["acid_solubility:Sorbic Acid"])
    assert row["sorbic"] == row["twin"] == 1
    assert row["water"] == -2 * fr("0.0012")
    assert row["lotion"] == row["water"] * fr("0.3")
    assert "nut" not in row


def test_without_a_window_or_a_constant_an_acid_has_no_row() -> None:
    rule = forecast("undissolved", high="0")
    assert set(rows(asked(rule, ph_window=None))) == {"solubility:camphor", "most"}
    assert set(rows(asked(rule, substances={}))) == {"solubility:camphor", "most"}
    assert rows(asked(rule), lenient=True) == {}


@pytest.mark.parametrize(("limit", "there"), [("0.8", True), ("0.9999", True), ("1", False), ("1.1", False)])
def test_a_ceiling_on_water_activity_at_pure_water_asks_for_nothing(limit: str, there: bool) -> None:
    assert ("most" in rows(asked(forecast("water_activity", high=limit)))) is there
    assert rows(asked(forecast("water_activity", high=limit)), lenient=True) == {}


def test_a_floor_on_water_activity_below_what_is_summed_up_is_not_needed() -> None:
    assert set(rows(asked(forecast("water_activity", "0.2")))) == {"least"}
    assert rows(asked(forecast("water_activity", "0.2")), lenient=True) == {}
    assert set(rows(asked(forecast("water_activity", "0.3001")), lenient=True)) == {"least"}


def test_a_buffer_is_asked_for_at_the_foot_and_at_the_top_of_the_window() -> None:
    here = asked(forecast("buffer", "20"))
    profile = profiles_for([TABLE["sorbic"]], SUBSTANCES)["sorbic"]
    assert isinstance(profile, ChargeProfile)
    found = rows(here)
    for name, ph in zip(("foot", "top"), WINDOW, strict=True):
        assert coefs(found[name])["sorbic"] == 10 * buffer_per_gram(profile, ph)
        assert (found[name].lower, found[name].upper) == (fr(20), None)
    assert coefs(found["foot"])["sorbic"] > 2 * coefs(found["top"])["sorbic"]
    assert rows(asked(forecast("buffer", "20"), ph_window=None)) == {}


@pytest.mark.parametrize(("low", "needed"), [("20", "19.999798"), ("0.000001", "0")])
def test_needed_rows_lie_a_hair_outside(low: str, needed: str) -> None:
    assert rows(asked(forecast("buffer", low)), lenient=True)["foot"].lower == fr(needed)


def test_a_name_on_the_label_costs_one_where_it_can_pass_its_threshold() -> None:
    scents = {
        **TABLE,
        "lavender": made("lavender", "scent", "Linalool", "40"),
        "faint": made("faint", "scent", "Limonene", "0.001"),
        "trace": made("trace", "scent", "Citral", "0.0009"),
    }
    labels = tuple(
        LabelLimit(name, ((name, fr(1)),), fr("0.001"), "test") for name in ("Linalool", "Limonene", "Citral")
    )
    found = rows(asked(forecast("allergens", high="1"), scents, labels=labels))
    assert set(found) == {"Linalool", "most"}
    assert coefs(found["Linalool"]) == {"lavender": fr("0.4"), "n:test#r:0": -(40 - fr("0.001"))}
    assert found["Linalool"].upper == fr("0.001")
    assert (coefs(found["most"]), found["most"].upper) == ({"n:test#r:0": fr(1)}, fr(1))
    wider = rows(asked(forecast("allergens", high="1"), scents, labels=labels), lenient=True)
    assert wider["most"].upper == 1 + fr("0.00001") + fr("0.000002")


BLEND = {
    "water": TABLE["water"],
    "tween": made("tween", "emulsifier", hlb="15"),
    "plain": made("plain", "emulsifier"),
    "light": made("light", "oil", hlb_needed="7"),
    "heavy": made("heavy", "oil", hlb_needed="12"),
    "stray": made("stray", "polyol", hlb="9", hlb_needed="9"),
}


@pytest.mark.parametrize(
    ("base", "lenient", "least", "most"),
    [
        ({"light": "3", "heavy": "1"}, False, "8.25", "8.25"),
        ({"light": "3", "heavy": "1"}, True, "7", "12"),
        ({}, False, "7", "12"),
    ],
)
def test_a_blend_stands_within_so_much_of_what_the_oils_ask(
    base: dict[str, str], lenient: bool, least: str, most: str
) -> None:
    """Of the oils of the last answer, of any there may be where there is none or for a proof; within 2."""
    here = asked(forecast("hlb", high="2"), BLEND, base={Slot(name, "A"): fr(x) for name, x in base.items()})
    found = rows(here, lenient=lenient)
    hair = (2 * fr("0.00001") + fr("0.000002")) if lenient else fr(0)
    assert coefs(found["least"]) == {"tween": 15 - (fr(least) - 2) + hair}
    assert coefs(found["most"]) == {"tween": 15 - (fr(most) + 2) - hair}
    assert (found["least"].lower, found["most"].upper) == (fr(0), fr(0))


@pytest.mark.parametrize("lenient", [True, False])
def test_where_no_oil_asks_for_anything_no_blend_is_asked_for(lenient: bool) -> None:
    table = {name: BLEND[name] for name in ("water", "tween", "stray")}
    assert rows(asked(forecast("hlb", high="2"), table), lenient=lenient) == {}
    assert rows(asked(forecast("hlb", "1"), BLEND), lenient=lenient) == {}


GRAINS = replace(
    made("grains", "clay"),
    figures={
        "density": figure("2.5"),
        "water_held": Figure(fr("0.2"), fr("0.1"), fr("0.4"), "ml/g", "invented", "measured"),
        "packing_max": figure("0.6"),
        "shape_factor": figure("3"),
    },
)


@pytest.mark.parametrize(("surely", "low", "high"), [(False, "0.2", "0.2"), (True, "0.1", "0.4")])
def test_grains_take_their_room_against_that_of_everything(surely: bool, low: str, high: str) -> None:
    """At most 10 %: a gram of grains takes 0.4 ml and holds water, a tenth of its own room is allowed."""
    table = {"grains": GRAINS, "nut": TABLE["nut"], "water": TABLE["water"]}
    rule = forecast("powder_volume", "10", "20")
    found = rows(asked(replace(rule, head=replace(rule.head, surely=surely)), table))
    for name, limit, held in (("least", fr("0.1"), fr(low)), ("most", fr("0.2"), fr(high))):
        assert coefs(found[name]) == {
            "grains": fr("0.4") + held - limit * fr("0.4"),
            "nut": -limit / fr("0.9"),
        }
    assert (found["least"].lower, found["least"].upper) == (fr(0), None)
    assert (found["most"].lower, found["most"].upper) == (None, fr(0))


def test_a_density_weighs_a_gram_against_the_room_it_takes() -> None:
    table = {"grains": GRAINS, "nut": TABLE["nut"], "water": TABLE["water"]}
    found = rows(asked(forecast("density", "1", "1.2"), table))
    for name, limit in (("least", fr(1)), ("most", fr("1.2"))):
        assert coefs(found[name]) == {"grains": 1 - limit / fr("2.5"), "nut": 1 - limit / fr("0.9")}


CLAY = replace(
    made("clay", "clay", water_content="2"),
    figures={
        "water_content": figure("2"),
        "water_uptake": Figure(fr("0.5"), fr("0.4"), fr("0.7"), "g/g", "invented", "assumed"),
        "oil_uptake": figure("0.3"),
    },
)
WATER = made("water", "water", water_content="100")


@pytest.mark.parametrize(
    ("lenient", "surely", "least", "most"),
    [(False, False, "0.5", "0.5"), (False, True, "0.7", "0.4"), (True, True, "0.4", "0.7")],
)
def test_free_liquid_is_what_a_line_brings_less_what_it_drinks(
    lenient: bool, surely: bool, least: str, most: str
) -> None:
    rule = FreeLiquid(replace(head("r"), surely=surely), fr(20), fr(30), predicted=True)
    found = rows(asked(rule, {"clay": CLAY, "nut": TABLE["nut"], "water": WATER}), lenient=lenient)
    assert coefs(found["least"]) == {"clay": fr("0.02") - fr(least), "water": 1}
    assert coefs(found["most"]) == {"clay": fr("0.02") - fr(most), "water": 1}
    assert (found["least"].lower, found["least"].upper) == (fr(20), None)
    assert (found["most"].lower, found["most"].upper) == (None, fr(30))


def test_free_liquid_has_a_row_for_what_is_asked_and_foretold_alone() -> None:
    table = {"clay": CLAY, "nut": TABLE["nut"], "water": WATER}
    oily = FreeLiquid(head("r"), None, fr(30), oily=True, predicted=True)
    assert {name: coefs(row) for name, row in rows(asked(oily, table)).items()} == {
        "most": {"clay": -fr("0.3"), "nut": fr(1)}
    }
    assert set(rows(asked(replace(oily, low=fr(1), high=None), table))) == {"least"}
    assert rows(asked(replace(oily, predicted=False), table)) == {}
