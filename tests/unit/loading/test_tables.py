"""CSV as people save it: encodings, separators, headings, ragged rows, odd characters."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.loading import tables
from optimiser.loading.findings import Findings
from optimiser.loading.tables import Columns, Table, read_csv
from optimiser.problems import Problem

COLUMNS = Columns(("id", "name"), ("use_max", "notes"), {"use_max": "%"})
PLAIN = "id,name,use_max\nwater,Wässer,5\n"


def read(folder: Path, data: str | bytes) -> tuple[Table, list[Problem]]:
    path = folder / "ingredients.csv"
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    findings = Findings("ingredients.csv")
    return read_csv(path, COLUMNS, findings), findings.problems


@pytest.mark.parametrize(
    "data",
    [
        PLAIN.encode(),
        PLAIN.encode("utf-8-sig"),
        PLAIN.encode("utf-16"),
        PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace(",", ";").encode(),
        PLAIN.replace(",", "\t").encode(),
        ("\n\n" + PLAIN).encode(),
        PLAIN.replace("id,name,use_max", '"ID","Name","Use max [%]"').encode(),
    ],
)
def test_reads_what_spreadsheets_write(tmp_path: Path, data: bytes) -> None:
    table, problems = read(tmp_path, data)
    assert problems == []
    (row,) = table.rows
    assert (row["id"], row["name"], row["use_max"], row["notes"]) == ("water", "Wässer", "5", "")


def test_lines_are_counted_over_cells_with_line_breaks(tmp_path: Path) -> None:
    table, problems = read(tmp_path, 'id,name\na,"two\nlines"\n\nb,B\n')
    assert problems == []
    assert [row.line for row in table.rows] == [2, 5]


def test_windows_1252_is_named_and_still_read(tmp_path: Path) -> None:
    table, (problem,) = read(tmp_path, PLAIN.encode("cp1252"))
    assert problem.line == 2
    assert "CSV UTF-8" in problem.fix
    assert table.rows[0]["name"] == "Wässer"


@pytest.mark.parametrize(
    ("text", "line", "found", "fix"),
    [
        ("id,nam\nwater,Water\n", 1, '"nam"', 'did you mean "name"?'),
        ("id,name,name\nwater,Water,Water\n", 1, '"name" twice', "remove or rename one"),
        ("id,name,colour\nwater,Water,blue\n", 1, '"colour"', "the columns are id, name, use_max, notes"),
        ("id,name,use_max [g]\nwater,Water,5\n", 1, '"g"', ""),
        ("name\nWater\n", 1, "none such", ""),
        ("", 1, "nothing", ""),
        ("id,name\nwater,Water,5\n", 2, "3", "quotation marks"),
        ("id,name,notes\nwater,Water\n", 2, "2", "quotation marks"),
        ('id,name\nwater,"Water\nkaolin,Kaolin\n', 2, "unexpected end of data", "quotation mark"),
        ("id,name\nwa\u202eter,Water\n", 2, "U+202E", "type the cell again"),
        ("id,name\nwater,Wat\u0007er\n", 2, "U+0007", "type the cell again"),
        ("id,name\nwater,Wat\u200ber\n", 2, "U+200B", "type the cell again"),
    ],
)
def test_faults_of_form(tmp_path: Path, text: str, line: int, found: str, fix: str) -> None:
    _, (problem,) = read(tmp_path, text)
    assert (problem.line, problem.found) == (line, found)
    assert fix in problem.fix


def test_a_ragged_row_keeps_its_id_known(tmp_path: Path) -> None:
    table, _ = read(tmp_path, "id,name\nwater,Water,5\n")
    assert table.rows[0].broken
    assert table.rows[0]["id"] == "water"


def test_trailing_empty_cells_are_no_fault(tmp_path: Path) -> None:
    table, problems = read(tmp_path, "id,name,,\nwater,Water,,\n")
    assert problems == []
    assert table.header == ("id", "name")


@pytest.mark.parametrize("sign", ["=", "+", "-", "@"])
def test_the_mark_against_formulas_is_taken_off(tmp_path: Path, sign: str) -> None:
    table, problems = read(tmp_path, f"id,name\nwater,'{sign}1\n")
    assert problems == []
    assert table.rows[0]["name"] == f"{sign}1"


def test_an_apostrophe_elsewhere_stays(tmp_path: Path) -> None:
    table, _ = read(tmp_path, "id,name\nwater,'s Water\n")
    assert table.rows[0]["name"] == "'s Water"


def test_too_many_rows_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "MOST_ROWS", 2)
    table, (problem,) = read(tmp_path, "id,name\na,A\nb,B\nc,C\nd,D\n")
    assert len(table.rows) == 2
    assert (problem.line, problem.expected) == (4, "at most 2 rows")
