"""Tables of readings as spreadsheets save them: dates, exact numbers, formulas, and cells that are wrong."""

from __future__ import annotations

from datetime import date, datetime
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.trials import Planned, Trial
from optimiser.loading.readings import Import, read_degrees, read_readings, read_score
from optimiser.units.numbers import NumberFault
from tests.unit.loading.test_workbooks import workbook

F = Fraction
DAY = date(2026, 11, 20)
TRIALS = {"serum-1": Trial("serum-1", "serum", DAY, F(250), (Planned("A", "water", F(250)),))}
HEAD = [
    "trial",
    "day",
    "measure",
    "value",
    "unit",
    "score",
    "ingredient",
    "grams",
    "text",
    "stored_c",
    "cycles",
]
ROW: dict[str, object] = {"trial": "serum-1", "day": datetime(2026, 11, 21)}  # noqa: DTZ001


def taken(folder: Path, *rows: dict[str, object]) -> Import:
    path = folder / "readings.xlsx"
    path.write_bytes(workbook([HEAD, *([{**ROW, **row}.get(name) for name in HEAD] for row in rows)]))
    known = {"water": "water", "kaolin": "kaolin"}
    return read_readings(path, TRIALS, "point", known.get)


def test_dates_numbers_and_texts_of_a_workbook(tmp_path: Path) -> None:
    found = taken(
        tmp_path,
        {"measure": "ph", "value": 0.1 + 5.1},
        {"measure": "thickness", "value": 3800, "unit": "mPa.s"},
        {"score": "Slip on skin", "value": 7},
        {"ingredient": "water", "grams": 249.5},
        {"text": "cloudy", "stored_c": "104 F", "cycles": 3},
    )
    assert found.problems == ()
    entries = [one for _, one in found.entries]
    assert {one.day for one in entries} == {date(2026, 11, 21)}
    assert [one.what for one in entries] == ["read", "read", "felt", "weighed", "visit"]
    assert [one.value for one in entries[:3]] == [F("5.2"), F("3.8"), F(7)]
    assert entries[2].measure == "slip-on-skin"
    assert (entries[3].grams, entries[4].stored_c, entries[4].cycles) == (F("249.5"), F(40), 3)


@pytest.mark.parametrize(
    ("row", "cell", "told"),
    [
        ({"measure": "ph", "value": datetime(2026, 4, 5)}, "D2", "a number"),  # noqa: DTZ001
        ({"measure": "ph", "value": True}, "D2", "a number"),
        ({"measure": "ph", "value": 47}, "D2", "from 0 to 14"),
        ({"measure": "ph", "value": "4,8"}, "D2", "a number"),
        ({"measure": "ph", "value": 5, "score": "slip"}, "F2", "a row of its own"),
        ({"measure": "ph", "value": 5, "day": datetime(2026, 11, 19)}, "B2", "2026-11-20"),  # noqa: DTZ001
        ({"measure": "ph", "value": 5, "day": 46347}, "B2", "a date"),
        ({"measure": "ph", "value": 5, "trial": "serum-2"}, "A2", "a trial"),
        ({"measure": "ph", "value": 5, "cycles": 2.5}, "K2", "a whole number"),
        ({"measure": "ph", "value": 5, "cycles": -1}, "K2", "above 0"),
        ({"measure": "ph", "value": 5, "stored_c": "40 K"}, "J2", "C or F"),
        ({"ingredient": "kaolin", "grams": 5}, "G2", "a line of serum-1"),
        ({"ingredient": "water", "grams": -5}, "H2", "zero or more"),
        ({"ingredient": "water", "grams": "#REF!"}, "H2", "an amount"),
        ({}, "C2", "a measure, a score, a setting, an ingredient or a text"),
    ],
)
def test_a_cell_that_is_wrong_is_told_by_its_address(
    tmp_path: Path, row: dict[str, object], cell: str, told: str
) -> None:
    found = taken(tmp_path, row)
    assert [(one.cell, told in one.expected) for one in found.problems] == [(cell, True)]
    assert found.entries == ()


def test_a_score_beyond_its_ends_is_told_them_once() -> None:
    fault = read_score("softness", "12", "point")
    assert isinstance(fault, NumberFault)
    assert fault.expected == "a score from 0 to 10"


def test_a_formula_that_was_never_reckoned_is_told_and_not_taken(tmp_path: Path) -> None:
    found = taken(tmp_path, {"measure": "ph", "value": "=1+1"})
    assert (found.problems[0].cell, found.problems[0].expected) == ("D2", "a stored result")
    assert found.entries == ()


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("22", "22"),
        ("22 C", "22"),
        ("-18 °C", "-18"),
        ("−18C", "-18"),
        ("72F", "22.22"),
        ("104 °f", "40"),
        ("14 F", "-10"),
    ],
)
def test_degrees_are_read_in_c_and_f(text: str, degrees: str) -> None:
    assert read_degrees(text, "point") == F(degrees)


@pytest.mark.parametrize("text", ["", "warm", "22 K", "900", "-300", "1.2.3"])
def test_what_is_no_temperature_of_a_bench_is_refused(text: str) -> None:
    assert isinstance(read_degrees(text, "point"), NumberFault)
