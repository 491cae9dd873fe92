"""Whatever stands in a file, a reader answers with problems: it never raises and never hangs."""

from __future__ import annotations

import io
import os
import string
import tempfile
import zipfile
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.loading.findings import Findings
from optimiser.loading.tables import Columns, read_csv
from optimiser.loading.workbooks import read_xlsx
from optimiser.loading.worktable import load_worktable
from optimiser.loading.yaml_nodes import parse_yaml
from optimiser.problems import Problem
from optimiser.units.numbers import DecimalMark, NumberFault, read_number
from optimiser.units.quantities import read_amount, read_percent, read_price
from tests.hostile.readers import SMALL, all_printable
from tests.unit.loading.folders import write

COLUMNS = Columns(("id", "name"), ("use_max",), {"use_max": "%"})
ODD = st.text(
    st.one_of(
        st.sampled_from("0123456789.,-+eE%/ \t\n;:'\"{}[]&*!|>#=@\u2212\u2009\u00a0\u202e\x00\ufeff"),
        st.characters(codec="utf-8"),
    ),
    max_size=60,
)
MARKS: st.SearchStrategy[DecimalMark] = st.sampled_from(["point", "comma"])


@settings(max_examples=500, deadline=None)
@given(ODD, MARKS)
def test_number_readers_answer(text: str, mark: DecimalMark) -> None:
    for answer in (
        read_number(text, decimal=mark),
        read_amount(text, mark, density=Fraction(1)),
        read_percent(text, mark),
        read_price(text, mark, "EUR"),
        read_amount(f"{text} g", mark),
        read_price(f"{text} EUR/kg", mark, "EUR"),
    ):
        assert isinstance(answer, Fraction | NumberFault)


@settings(max_examples=300, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=300), ODD.map(lambda text: ("id,name\n" + text).encode()), ODD.map(str.encode)
    )
)
def test_tables_answer(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.csv"
        path.write_bytes(data)
        findings = Findings("a.csv")
        table = read_csv(path, COLUMNS, findings)
        assert table.header or findings.problems
        assert all(
            row["id"] or row["name"] or row.broken or row["use_max"] or findings.problems
            for row in table.rows
        )
        all_printable(findings.problems)


@settings(max_examples=500, deadline=None)
@given(
    st.one_of(ODD, ODD.map(lambda text: f"a: {text}\nb: [{text}]\n"), ODD.map(lambda text: "{" * 20 + text))
)
def test_yaml_answers(text: str) -> None:
    findings = Findings("a.yaml")
    assert parse_yaml(text, findings) is not None or findings.problems
    all_printable(findings.problems)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.lists(
            st.one_of(
                st.none(),
                st.booleans(),
                st.integers(-(10**12), 10**12),
                st.floats(allow_nan=False, allow_infinity=False),
                st.datetimes(),
                st.times(),
                st.timedeltas(),
                st.text(string.printable.translate({ord(c): None for c in "\x0b\x0c\r"}), max_size=9),
            ),
            max_size=5,
        ),
        max_size=5,
    )
)
def test_workbooks_answer(rows: list[list[object]]) -> None:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(["id", "name", "use_max"])
    for row in rows:
        sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    _read_workbook(buffer.getvalue())


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 5000), st.binary(min_size=1, max_size=20))
def test_damaged_workbooks_answer(at: int, data: bytes) -> None:
    book = openpyxl.Workbook()
    book.worksheets[0].append(["id", "name"])
    buffer = io.BytesIO()
    book.save(buffer)
    whole = buffer.getvalue()
    at %= len(whole)
    _read_workbook(whole[:at] + data + whole[at + len(data) :])
    _read_workbook(whole[:at])


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(SMALL)), st.integers(0, 2000), st.integers(0, 40), ODD)
def test_a_damaged_folder_answers(name: str, at: int, cut: int, text: str) -> None:
    whole = SMALL[name]
    at %= len(whole)
    damaged = whole[:at] + text + whole[at + cut :]
    with tempfile.TemporaryDirectory() as folder:
        worktable, problems = load_worktable(write(Path(folder), {**SMALL, name: damaged}))
        assert (worktable is None) == bool(problems)
        all_printable(problems)


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 200_000,
        "a: " + "{" * 200_000,
        "- " * 100_000,
        "a: &a [" + "*a, " * 1000 + "]",
        "? " * 50_000,
        "a: |\n" + " x\n" * 100_000,
        "a: '" + "'" * 400_001,
        "\n".join(f"k{n}: {n}" for n in range(30_000)),
        "a: " + " " * 900_000 + "of base",
    ],
)
def test_long_yaml_ends(text: str) -> None:
    findings = Findings("a.yaml")
    assert parse_yaml(text, findings) is not None or findings.problems


@pytest.mark.parametrize(
    "text",
    [
        "id,name" + "[" * 100_000 + "\n",
        "," * 500_000,
        '"' * 300_001,
        "id,name\n" + "a,b,c\n" * 30_000,
        "id,name\n" + "\n" * 500_000 + "a,b\n",
        "id,name\n" + "x" * 200_000 + ",b\n",
    ],
)
def test_long_tables_end(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text(text, encoding="utf-8")
    findings = Findings("a.csv")
    read_csv(path, COLUMNS, findings)
    assert findings.problems or text.endswith("a,b\n")


def test_many_unknown_names_end(tmp_path: Path) -> None:
    rows = "".join(f"nobody-{number},tree-nutt,free,memory,\n" for number in range(5000))
    _, problems = load_worktable(write(tmp_path, {"flags.csv": "ingredient,flag,state,source,date\n" + rows}))
    assert len(problems) == 10_000


def test_words_of_a_file_cannot_steer_the_terminal(tmp_path: Path) -> None:
    rows = "ingredient,flag,state,source\n\x1b[31mkaolin,tree-nut\u202e,fr\x00ee,memory\n"
    _, problems = load_worktable(write(tmp_path, {"flags.csv": rows}))
    assert problems
    all_printable(problems)


def test_file_names_cannot_either(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "formulas").mkdir()
    (tmp_path / "formulas" / "a\x1b\nb.yaml").write_text("name: A\n", encoding="utf-8")
    (tmp_path / "formulas" / os.fsdecode(b"a\xff.yaml")).write_text("name: A\n", encoding="utf-8")
    _, problems = load_worktable(tmp_path)
    assert len(problems) == 2
    all_printable(problems)


def test_a_sheet_that_claims_all_rows_ends() -> None:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(["id", "name"])
    sheet.cell(1_048_576, 16_384, "far away")
    buffer = io.BytesIO()
    book.save(buffer)
    _read_workbook(buffer.getvalue())


def test_a_workbook_of_another_kind_of_archive_answers() -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("../../outside.xml", "<a/>")
    assert _read_workbook(buffer.getvalue())


def _read_workbook(data: bytes) -> list[Problem]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.xlsx"
        path.write_bytes(data)
        findings = Findings("a.xlsx")
        read_xlsx(path, COLUMNS, findings, "point")
        all_printable(findings.problems)
        return findings.problems
