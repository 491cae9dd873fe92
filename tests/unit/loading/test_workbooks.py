"""XLSX as spreadsheets save it: exact decimals, percentages, dates, formulas, bombs."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from datetime import date, datetime, time
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest

from optimiser.loading import workbooks
from tests.unit.loading.folders import SOUND, loaded, only, problems_of

HEADER: list[object] = ["ingredient", "property", "value", "low", "high", "unit", "source"]
INVENTED = "invented demo data"
DAY = date(2026, 5, 1)
DENSITY: list[object] = ["almond-oil", "density", 0.9, None, None, "g/ml", INVENTED]


def workbook(rows: Sequence[Sequence[object]], formats: dict[str, str] | None = None) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in rows:
        sheet.append(list(row))
    for address, number_format in (formats or {}).items():
        sheet[address].number_format = number_format
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def test_number_cells_are_exact(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        HEADER,
        DENSITY,
        ["kaolin", "solids", 0.1, 0.1, 0.1 + 0.2, "%", INVENTED],
        ["kaolin", "water_uptake", 12.375, 1e-05, 20, "g/g", INVENTED],
    ]
    figures = (
        loaded(tmp_path, {"properties.csv": None, "properties.xlsx": workbook(rows)})
        .ingredients["kaolin"]
        .figures
    )
    solids, uptake = figures["solids"], figures["water_uptake"]
    assert [solids.value, solids.high] == [Fraction(1, 10), Fraction(3, 10)]
    assert [uptake.value, uptake.low, uptake.high] == [Fraction(99, 8), Fraction(1, 100_000), 20]


def test_number_cells_are_read_whatever_the_decimal_mark(tmp_path: Path) -> None:
    head = ["id", "name", "inci", "kind", "use_max", "pack_size", "pack_price"]
    ingredients = workbook([head, ["kaolin", "Kaolin", "Kaolin", "clay-plain", 2.5, "0,5 kg", 3.75]])
    files = {
        **dict.fromkeys(SOUND),
        "worktable.yaml": SOUND["worktable.yaml"].replace("point", "comma"),
        "ingredients.xlsx": ingredients,
    }
    kaolin = loaded(tmp_path, files).ingredients["kaolin"]
    assert kaolin.use_max == Fraction(5, 2)
    assert kaolin.price_per_kg == Fraction(15, 2)


def test_percent_cells_count_as_shown(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["phase", "ingredient", "amount"],
        ["A", "water", "to 100 %"],
        ["A", "kaolin", 0.05],
    ]
    worktable = loaded(tmp_path, {"formulas/mask.xlsx": workbook(rows, {"C3": "0.00%"})})
    assert [line.percent for _, line in worktable.formulas["mask"].lines] == [95, 5]


@pytest.mark.parametrize("value", [datetime.combine(DAY, time()), DAY])
def test_a_date_in_a_number_column_is_refused_by_its_cell(tmp_path: Path, value: date) -> None:
    rows = [HEADER, DENSITY, ["kaolin", "solids", value, None, None, "%", INVENTED]]
    problem = only(problems_of(tmp_path, {"properties.csv": None, "properties.xlsx": workbook(rows)}))
    assert problem.place == "properties.xlsx:3:C3"
    assert problem.found == '"2026-05-01"'
    assert "date" in problem.fix


def test_a_date_in_a_date_column_is_read(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["ingredient", "lot", "amount", "expires"],
        ["kaolin", 7, "350 g", datetime.combine(DAY, time())],
    ]
    (lot,) = loaded(tmp_path, {"shelf.xlsx": workbook(rows)}).shelf
    assert (lot.lot, lot.expires) == ("7", DAY)


def test_a_formula_without_a_stored_result_is_no_empty_cell(tmp_path: Path) -> None:
    rows = [HEADER, DENSITY, ["kaolin", "solids", 5, "=1+1", None, "%", INVENTED]]
    problem = only(problems_of(tmp_path, {"properties.csv": None, "properties.xlsx": workbook(rows)}))
    assert problem.place == "properties.xlsx:3:D3"
    assert problem.found == "a formula without one"


def test_a_broken_workbook_is_named(tmp_path: Path) -> None:
    problem = only(problems_of(tmp_path, {"shelf.xlsx": b"PK no workbook"}))
    assert (problem.file, problem.fix) == ("shelf.xlsx", "save it again as XLSX")


def test_a_workbook_that_unpacks_without_end_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workbooks, "MOST_UNPACKED", 1_000_000)
    buffer = io.BytesIO(workbook([HEADER]))
    with zipfile.ZipFile(buffer, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/more.xml", b"0" * 2_000_000)
    problem = only(problems_of(tmp_path, {"shelf.xlsx": buffer.getvalue()}))
    assert "unpacked" in problem.expected


def test_entities_are_refused(tmp_path: Path) -> None:
    buffer = io.BytesIO(workbook([HEADER]))
    with zipfile.ZipFile(buffer, "a") as archive:
        archive.writestr("xl/more.xml", '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>')
    problem = only(problems_of(tmp_path, {"shelf.xlsx": buffer.getvalue()}))
    assert problem.expected == "a workbook without declarations"


def test_a_table_stands_once(tmp_path: Path) -> None:
    problem = only(
        problems_of(tmp_path, {"flags.xlsx": workbook([["ingredient", "flag", "state", "source"]])})
    )
    assert (problem.file, problem.found) == ("flags.xlsx", "flags.csv too")
