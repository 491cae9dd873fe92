"""A table cut into its cells says what the reader of the standard library says, and puts together again."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.loading.csv_spans import Sheet, read_sheet
from optimiser.loading.findings import Findings
from optimiser.loading.tables import Columns

COLUMNS = Columns(("id", "name"), ("notes",))
CELL = st.text(st.sampled_from('ab ,;"\n\r\t=é'), max_size=6)


def sheet_of(data: bytes) -> Sheet:
    sheet = read_sheet(data, COLUMNS, Findings("x.csv"))
    assert sheet is not None
    return sheet


@given(st.lists(st.lists(CELL, min_size=1, max_size=4), max_size=5), st.sampled_from(["\n", "\r\n"]))
def test_cells_and_lines_are_those_of_the_csv_reader(rows: list[list[str]], end: str) -> None:
    text = io.StringIO()
    csv.writer(text, lineterminator=end).writerows([["id", "name", "notes"], *rows])
    sheet = sheet_of(text.getvalue().encode())
    reader = csv.reader(io.StringIO(text.getvalue(), newline=""), strict=True)
    lines, line = [], 1
    for cells in reader:
        lines.append((line, cells or [""]))
        line = reader.line_num + 1
    assert [(one.line, [cell.text for cell in one.cells]) for one in sheet.records] == lines
    assert "".join(sheet.text[one.start : one.after] for one in sheet.records) == text.getvalue()


@pytest.mark.parametrize(
    ("mark", "coding"), [(b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"", "utf-8")]
)
def test_bytes_come_back_as_they_were(mark: bytes, coding: str) -> None:
    data = mark + "id;Name [%]\r\nä;b\r\n".encode(coding)
    sheet = sheet_of(data)
    assert (sheet.delimiter, sheet.columns) == (";", ("id", "name"))
    assert sheet.encoded(sheet.text) == data


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b'id,name\nwax,"open\n', "2: row: expected cells that can be told apart"),
        (b'id,name\nwax,"a"b\n', "2: row: expected cells that can be told apart"),
        (b"id,name\nwax,\xe9\n", "bytes of another encoding"),
        (b"\n \n", "a header line with id, name"),
    ],
)
def test_what_cannot_be_cut_is_told(data: bytes, told: str) -> None:
    findings = Findings("x.csv")
    assert read_sheet(data, COLUMNS, findings) is None
    assert told in findings.problems[0].sentence()
