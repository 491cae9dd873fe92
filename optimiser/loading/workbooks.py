"""Tables from XLSX workbooks, with the cells turned into the text a CSV file would hold."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from optimiser.loading.findings import Findings, shown
from optimiser.loading.tables import MOST_COLUMNS, MOST_ROWS, Columns, Table, build
from optimiser.loading.text_files import read_bytes
from optimiser.units.numbers import MARKS, DecimalMark

MOST_PARTS = 1000
MOST_UNPACKED = 60_000_000
MOST_MARKS = 1_000_000
"""Openings and closings of XML elements in all parts together: about 250,000 cells, read in some seconds."""
MEGABYTE = 1 << 20
UNFINISHED = "#formula"
BROKEN = (zipfile.BadZipFile, zlib.error, OSError, RuntimeError, NotImplementedError, ValueError, EOFError)


def read_xlsx(path: Path, columns: Columns, findings: Findings, decimal: DecimalMark) -> Table:
    """The first sheet of the workbook. Number cells keep the 15 digits the spreadsheet shows."""
    data = read_bytes(path, findings)
    return Table(findings.file) if data is None else table_of_book(data, columns, findings, decimal)


def table_of_book(data: bytes, columns: Columns, findings: Findings, decimal: DecimalMark) -> Table:
    """The same from the workbook's bytes."""
    if not _harmless(data, findings):
        return Table(findings.file)
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        formulas = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
        records = list(_records(book.worksheets[0], formulas.worksheets[0], decimal))
    except Exception as error:
        findings.add(
            None,
            "file",
            "an XLSX workbook",
            f"one that does not open ({type(error).__name__})",
            "save it again as XLSX",
        )
        return Table(findings.file)
    _name_unfinished(records, findings)
    return build(iter(records), columns, findings, _address)


def _harmless(data: bytes, findings: Findings) -> bool:
    """Whether the archive unpacks to a sensible size and count of cells, and declares no entities."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                findings.add(
                    None, "file", f"a workbook of at most {MOST_UNPACKED // 1_000_000} MB unpacked", "more"
                )
                return False
            if sum(_marks(archive, part) for part in parts) > MOST_MARKS:
                fix = "split it, or save it as CSV"
                findings.add(None, "file", f"at most some {MOST_MARKS // 4000},000 cells", "more", fix)
                return False
            for part in parts:
                if _declares(archive, part):
                    found = f"one in {shown(part.filename)}"
                    findings.add(None, "file", "a workbook without declarations", found)
                    return False
    except BROKEN as error:
        findings.add(
            None, "file", "an XLSX workbook", f"none ({type(error).__name__})", "save it again as XLSX"
        )
        return False
    return True


def _marks(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> int:
    """How often an element opens or closes in a part; rows without a cell take time as well."""
    with archive.open(part) as opened:
        return sum(piece.count(b"<") for piece in iter(lambda: opened.read(MEGABYTE), b""))


def _declares(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> bool:
    """Whether an XML part brings a document type, which may declare entities without end."""
    with archive.open(part) as opened:
        start = opened.read(100_000).replace(b"\0", b"")
    return b"<!DOCTYPE" in start or b"<!ENTITY" in start


def _records(sheet: Any, formulas: Any, decimal: DecimalMark) -> Iterator[tuple[int, list[str]]]:
    """(row, cells as text); a formula without a stored result is told apart from an empty cell."""
    sheet.reset_dimensions()
    formulas.reset_dimensions()
    limits = {"max_row": MOST_ROWS + 2, "max_col": MOST_COLUMNS + 1}
    pairs = zip(sheet.iter_rows(**limits), formulas.iter_rows(**limits), strict=False)
    for number, (cells, written) in enumerate(pairs, start=1):
        texts = [
            cell_text(cell.value, str(cell.number_format or ""), decimal) if cell.value is not None else ""
            for cell in cells
        ]
        for place, cell in enumerate(written[: len(texts)]):
            if not texts[place] and cell.value is not None:
                texts[place] = UNFINISHED
        yield number, texts


def _name_unfinished(records: list[tuple[int, list[str]]], findings: Findings) -> None:
    for line, cells in records:
        for place, text in enumerate(cells):
            if text == UNFINISHED:
                findings.add(
                    line,
                    "cell",
                    "a stored result",
                    "a formula without one",
                    "open the workbook in a spreadsheet program and save it",
                    _address(line, place),
                )
                cells[place] = ""


def cell_text(value: object, number_format: str, decimal: DecimalMark) -> str:
    """A cell's value as it would stand in a CSV file: 0.1 stays exactly 1/10, a date becomes 2026-11-01."""
    match value:
        case bool():
            return str(value).lower()
        case int():
            return _number_text(Decimal(value), number_format, decimal)
        case float():
            number = Decimal(repr(float(f"{value:.15g}")))
            return _number_text(number, number_format, decimal) if number.is_finite() else str(value)
        case datetime():
            return value.date().isoformat()
        case date() | time():
            return value.isoformat()
        case timedelta():
            return str(value)
    return str(value)


def _number_text(number: Decimal, number_format: str, decimal: DecimalMark) -> str:
    percent = "%" in number_format
    exact = number * 100 if percent else number
    text = f"{exact:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace(".", MARKS[decimal]) + (" %" if percent else "")


def _address(line: int, column: int) -> str:
    """The spreadsheet's name of a cell, from its row and its column counted from 0."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{line}"
