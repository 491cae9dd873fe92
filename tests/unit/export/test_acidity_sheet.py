"""The pH on the sheet and in the answer: the numbers of the full balance, words where there are none."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from fractions import Fraction
from importlib import resources
from typing import Any

import jsonschema
import pytest

from optimiser.domain.formula import Dosed, Formula, Line, Phase, Step
from optimiser.domain.ingredient import Figure, Ingredient, Part
from optimiser.domain.outcome import Proposal, Proposals, ProposedLine
from optimiser.domain.product import Product
from optimiser.domain.request import Request, Slot
from optimiser.domain.substance import Substance
from optimiser.export.acidity_sheet import AcidityTold, acidity_of, target_of
from optimiser.export.answer_json import answer_json
from optimiser.export.sheet import Sheet
from optimiser.export.sheet_csv import sheet_csv
from optimiser.export.sheet_curve import draw
from optimiser.export.sheet_html import sheet_html
from optimiser.export.sheet_json import sheet_json
from optimiser.science.acidity import solve_ph
from optimiser.units.numbers import show_number
from tests.unit.export.jobs import PROVENANCE, balm_proposal, balm_request, mask_request, sheet_of

F = Fraction
ACID, ALKALI = "citric-acid-20", "lye-10"


def _one(name: str, group: str, *parts: tuple[str, int], **figures: Figure) -> Ingredient:
    content = tuple(Part(one, F(share), F(share), F(share)) for one, share in parts)
    return Ingredient(name, name.capitalize(), name, group, group, (), composition=content, figures=figures)


def _figure(low: str, middle: str, high: str, unit: str) -> Figure:
    return Figure(F(middle), F(low), F(high), unit, "invented")


CLAY = {
    "buffer_slope": _figure("0.003", "0.01", "0.03", "meq/g/pH"),
    "powder_ph": _figure("5", "6", "7", "pH"),
}
TABLE = {
    one.id: one
    for one in (
        _one("water", "water", ("Aqua", 100)),
        _one("benzoate", "preservative", ("Sodium Benzoate", 100)),
        _one("kaolin", "clay", ("Kaolin", 100), **CLAY),
        _one(ACID, "acid", ("Citric Acid", 20), ("Aqua", 80)),
        _one(ALKALI, "alkali", ("Sodium Hydroxide", 10), ("Aqua", 90)),
        _one("carbomer", "gum", ("Carbomer", 100)),
    )
}


def job(shares: dict[str, str], dosed: dict[str, str]) -> tuple[Proposal, Request]:
    """One phase; `water` fills up; `dosed` names the reading of a line."""
    rest = {name: F(share) for name, share in shares.items()}
    amounts: dict[str, Fraction] = {"water": 100 - sum(rest.values(), F(0)), **rest}
    to = {Slot(name, "A"): Dosed(reading) for name, reading in dosed.items()}
    lines = tuple(Line(one, share, one == "water", to.get(Slot(one, "A"))) for one, share in amounts.items())
    phase = Phase("A", "All", lines, (Step("Stir.", ()),))
    formula = Formula("jar", "Jar", Product("rinse-off", "face", "adult", "paste"), (phase,), F(250))
    request = replace(
        mask_request(),
        name="Jar",
        formula=formula,
        ingredients={name: TABLE[name] for name in amounts},
        slots=tuple(Slot(name, "A") for name in amounts),
        base={Slot(name, "A"): share for name, share in amounts.items()},
        filler=Slot("water", "A"),
        fixed={slot: amounts[slot.ingredient] for slot in to},
        dosed=to,
        newcomers=frozenset(),
        rules=(),
        by_hand=(),
        substances=_constants(),
    )
    proposed = tuple(
        ProposedLine(one, "A", share, share, one == "water", to.get(Slot(one, "A")))
        for one, share in amounts.items()
    )
    return Proposal("Proposal", proposed, (), (), (), (), (), (), (), None, (), ()), request


def _substance(name: str, mass: str, pka: tuple[str, ...], charge: int, counter: str = "") -> Substance:
    constants = tuple(F(one) for one in pka)
    return Substance(name, "", "", F(mass), constants, charge, counter, "textbook", "seen")


def _constants() -> dict[str, Substance]:
    listed = (
        _substance("Citric Acid", "192.12", ("3.128", "4.761", "6.396"), -3),
        _substance("Benzoic Acid", "122.12", ("4.204",), -1),
        _substance("Sodium Benzoate", "144.11", (), -1, "Na+"),
        _substance("Sodium Hydroxide", "40.00", (), 1, "OH-"),
    )
    return {one.name.casefold(): one for one in listed}


PASTE = {"benzoate": "0.5", "kaolin": "20", ACID: "2"}


def told_of(shares: dict[str, str], dosed: dict[str, str]) -> AcidityTold:
    proposal, request = job(shares, dosed)
    return acidity_of(request, {Slot(one.ingredient, one.phase): one.percent for one in proposal.lines})


@pytest.fixture
def paste() -> Sheet:
    return sheet_of(*job(PASTE, {ACID: "pH 4.8"}))


def test_the_states_are_those_of_the_full_balance_and_the_acid_lowers_it() -> None:
    told = told_of(PASTE, {ACID: "pH 4.8"})
    assert told.valid
    assert told.before is not None
    assert told.after is not None
    assert ACID not in {name for name, grams in told.pot.grams.items() if grams}
    full = solve_ph(told.pot.with_more([(ACID, F(2))]), told.pot.profiles)
    assert full.ph is not None
    assert float(told.after.made.ph) == pytest.approx(full.ph, abs=0.006)
    assert told.after.made.ph < told.before.made.ph
    for state in (told.before, told.after):
        assert state.made.low < state.made.ph < state.made.high
    assert float(told.buffer_capacity or 0) == pytest.approx(full.buffer_capacity, rel=0.01)


def test_dilution_is_reckoned_with_a_thousand_grams_of_water() -> None:
    told = told_of(PASTE, {ACID: "pH 4.8"})
    assert told.after is not None
    thin = told.pot.with_more([(ACID, F(2)), ("water", F(1000))])
    assert float(told.after.read.ph) == pytest.approx(solve_ph(thin, told.pot.profiles).ph or 0, abs=0.006)
    assert told.after.read.ph > told.after.made.ph


@pytest.mark.parametrize(
    ("shares", "dosed", "falls"),
    [(PASTE, ACID, True), ({ACID: "2", "kaolin": "5", ALKALI: "3"}, ALKALI, False)],
)
def test_a_curve_goes_one_way_and_its_dose_meets_the_target(
    shares: dict[str, str], dosed: str, falls: bool
) -> None:
    told = told_of(shares, {dosed: "pH 4.8"})
    (curve,) = told.curves
    assert curve.falls is falls
    middles = [point.middle for point in curve.points]
    assert middles == sorted(middles, reverse=falls)
    assert curve.points[0].grams == 0
    assert curve.points[-1].grams == F(shares[dosed])
    assert all(point.low <= point.middle <= point.high for point in curve.points)
    dose = told.pot.dose_to(dosed, F(shares[dosed]), F("4.8"), "middle", falls=falls)
    assert dose is not None
    assert 0 < dose < F(shares[dosed])
    assert told.pot.ph(dosed, dose) == pytest.approx(4.8, abs=0.01)
    beyond = F(1) if falls else F(13)
    assert told.pot.dose_to(dosed, F(shares[dosed]), beyond, "middle", falls=falls) is None
    assert told.pot.dose_to(dosed, F(shares[dosed]), 14 - beyond, "middle", falls=falls) == 0


def test_two_dosed_lines_have_a_curve_each_without_the_other() -> None:
    told = told_of({**PASTE, ALKALI: "1"}, {ACID: "pH 4.8", ALKALI: "pH 4.8"})
    assert [curve.ingredient for curve in told.curves] == [ACID, ALKALI]
    acid, alkali = told.curves
    assert acid.falls
    assert not alkali.falls
    assert acid.points[0].middle == alkali.points[0].middle


def test_a_charge_that_is_not_known_leaves_no_number(paste: Sheet) -> None:
    jar = job({**PASTE, "carbomer": "0.4"}, {ACID: "pH 4.8"})
    told = acidity_of(jar[1], {Slot(one.ingredient, one.phase): one.percent for one in jar[0].lines})
    assert (told.before, told.after, told.curves, told.valid) == (None, None, (), False)
    assert [name for name, _ in told.unknown] == ["carbomer"]
    sheet = sheet_of(*jar)
    assert sheet.expected is not None
    assert not sheet.expected.rows
    assert any("charge of Carbomer is not known" in text for text in sheet.expected.texts)
    assert not any(re.search(r"[0-9]", text) for text in sheet.expected.texts)
    assert "pH as made</text>" not in sheet_html(sheet)
    assert "pH as made</text>" in sheet_html(paste)
    assert any("Add half" in step.text for phase in sheet.phases for step in phase.steps)


def test_without_a_water_phase_nothing_is_said_of_it() -> None:
    sheet = sheet_of(balm_proposal(), replace(balm_request(), substances=_constants()))
    assert "Expected pH" not in sheet_html(sheet)


def test_too_many_salts_leave_no_number() -> None:
    told = told_of({"benzoate": "15", ACID: "2"}, {ACID: "pH 4.8"})
    assert not told.valid
    assert told.after is None
    assert not told.curves
    assert "too many salts" in told.why[0]


def test_the_first_part_stays_short_of_the_target_for_all_values() -> None:
    shares, dosed = PASTE, {ACID: "pH 4.8"}
    told = told_of(shares, dosed)
    sheet = sheet_of(*job(shares, dosed))
    (text,) = [s.text for p in sheet.phases for s in p.steps if s.kind == "dose"]
    found = re.search(r"Add ([0-9.]+) g", text)
    assert found
    per_100 = F(found[1]) / F("2.5")
    assert 0 < per_100 < 2
    for end in ("low", "middle", "high"):
        assert told.pot.ph(ACID, per_100, end) > 4.8
    step = F(1, 250)
    error = max(float(one.model_error) for one in (told.before, told.after) if one)
    assert told.pot.ph(ACID, per_100 + step, "low") < 4.8 + error


def test_the_table_reads_what_the_balance_reads(paste: Sheet) -> None:
    (curve,) = paste.phases[0].curves
    assert [row.grams for row in curve.rows] == [0, 1, 2, 3, 4, 5]
    assert [row.drops for row in curve.rows] == [0, 20, 40, 60, 80, 100]
    told = told_of(PASTE, {ACID: "pH 4.8"})
    for row in curve.rows:
        assert float(row.middle) == pytest.approx(told.pot.ph(ACID, row.grams * F(2, 5)), abs=0.006)
    assert curve.window == mask_request().ph_window


def test_a_coarse_balance_gives_fewer_rows() -> None:
    (curve,) = sheet_of(*job({**PASTE, ACID: "0.01"}, {ACID: "pH 4.8"})).phases[0].curves
    assert [row.grams for row in curve.rows] == [0, F(1, 100), F(2, 100)]


def test_the_drawing_stands_inside_its_axes(paste: Sheet) -> None:
    (curve,) = paste.phases[0].curves
    drawing = draw(curve, lambda value, places: show_number(value, places, trim=False))
    pairs = [tuple(float(n) for n in one.split(",")) for one in f"{drawing.band} {drawing.middle}".split()]
    assert all(34 <= x <= 332 and 6 <= y <= 134 for x, y in pairs)
    assert len(drawing.across) == 6
    assert float(drawing.lines[0].at) > float(drawing.aim.at) > float(drawing.lines[1].at)
    assert "The target is pH 4.8" in drawing.told


def test_every_form_holds_the_same_curve(paste: Sheet) -> None:
    (curve,) = paste.phases[0].curves
    rows = list(csv.DictReader(io.StringIO(sheet_csv(paste).removeprefix("\ufeff"), newline="")))
    written = [row for row in rows if row["part"] == "curve"]
    assert [F(row["pH"]) for row in written] == [row.middle for row in curve.rows]
    assert [row["drops"] for row in written] == [str(row.drops) for row in curve.rows]
    assert {row["text"] for row in rows if row["part"] == "to write" and row["name"]} == {
        "pH before",
        "pH at the end",
        "grams used",
    }
    read = json.loads(sheet_json(paste))
    assert [F(one["ph"]["value"]) for one in read["phases"][0]["curves"][0]["rows"]] == [
        row.middle for row in curve.rows
    ]
    states = read["expected"]["states"]
    assert [one["when"] for one in states] == ["before Citric-acid-20", "with all of it, 5.00 g"]
    page = sheet_html(paste)
    assert page.count("pH as made</text>") == 1
    assert 'role="img" aria-label="Predicted pH goes from' in page
    assert "how Kaolin buffers" in page


def _answer(proposal: Proposal, request: Request) -> Any:
    read = json.loads(answer_json(Proposals(request, (), (proposal,)), provenance=PROVENANCE))
    schema = resources.files("optimiser").joinpath("schema/answer.schema.json").read_text(encoding="utf-8")
    jsonschema.Draft202012Validator(json.loads(schema)).validate(read)
    return read["proposals"][0]["acidity"]


def test_the_answer_carries_the_curve_and_follows_the_schema() -> None:
    acidity = _answer(*job(PASTE, {ACID: "pH 4.8"}))
    told = told_of(PASTE, {ACID: "pH 4.8"})
    assert told.after is not None
    assert acidity["valid"] is True
    assert F(acidity["after"]["ph"]["value"]) == told.after.made.ph
    points = acidity["curves"][0]["points"]
    assert [F(one["middle"]["value"]) for one in points] == [p.middle for p in told.curves[0].points]
    assert points[-1]["grams_per_100g"] == {"value": "2", "unit": "g"}


def test_the_answer_says_why_there_is_no_number() -> None:
    acidity = _answer(*job({**PASTE, "carbomer": "0.4"}, {ACID: "pH 4.8"}))
    assert (acidity["before"], acidity["after"], acidity["ionic_strength"]) == (None, None, None)
    assert acidity["curves"] == []
    assert "carbomer" in acidity["why"][0]


@pytest.mark.parametrize(
    ("text", "target"),
    [("pH 4.8", F("4.8")), ("ph 5", F(5)), ("pH 4,8", F("4.8")), ("thickness", None), ("pH about 5", None)],
)
def test_only_a_plain_reading_is_a_target(text: str, target: F | None) -> None:
    assert target_of(text) == target
