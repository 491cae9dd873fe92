"""A CSV file with the place of every cell in it, so that one can be changed and all else left as it is."""

from __future__ import annotations

import codecs
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from optimiser.loading.findings import Findings
from optimiser.loading.tables import Columns, clean_cell, delimiter_of, split_heading

BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
LINE_END = re.compile(r"\r\n|\r|\n")
QUOTED = re.compile(r'"([^"]*(?:""[^"]*)*)"')


class BrokenQuotesError(ValueError):
    """The quoting of the text breaks on `line`."""

    def __init__(self, line: int) -> None:
        super().__init__(f"line {line}")
        self.line = line


@dataclass(frozen=True, slots=True)
class Span:
    """A cell: where it stands in the text, quotation marks included, and what it says."""

    start: int
    end: int
    text: str
    quoted: bool = False


@dataclass(frozen=True, slots=True)
class Record:
    """A row on `line`: its cells, where it ends, and where the next begins."""

    line: int
    start: int
    end: int
    after: int
    cells: tuple[Span, ...]

    @property
    def filled(self) -> bool:
        return any(cell.text.strip() for cell in self.cells)


@dataclass(frozen=True)
class Sheet:
    """The text of a table cut into records. `mark` and `coding` are those of the file's bytes."""

    text: str
    delimiter: str
    records: tuple[Record, ...]
    mark: bytes = b""
    coding: str = "utf-8"

    def encoded(self, text: str) -> bytes:
        """Other text as bytes like those that were read."""
        return self.mark + text.encode(self.coding)

    def again(self, text: str) -> Sheet:
        """Another text cut in the same way. Raises BrokenQuotesError."""
        return replace(self, text=text, records=tuple(_records(text, self.delimiter)))

    @cached_property
    def filled(self) -> tuple[Record, ...]:
        """Records with something in them, the header first."""
        return tuple(record for record in self.records if record.filled)

    @property
    def head(self) -> Record:
        return self.filled[0]

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Names in the order of the header, as the readers call them ("use_max" for "Use max [%]")."""
        return tuple(split_heading(cell.text)[0] for cell in self.head.cells)

    @property
    def rows(self) -> tuple[Record, ...]:
        return self.filled[1:]

    def cell(self, record: Record, column: str) -> str:
        """What the readers see in the cell; nothing where the row or the table has no such cell."""
        place = self.columns.index(column) if column in self.columns else len(record.cells)
        return clean_cell(record.cells[place].text) if place < len(record.cells) else ""

    def cells(self, record: Record) -> dict[str, str]:
        """All named cells of a row."""
        return {column: self.cell(record, column) for column in self.columns if column}

    def named(self, keys: tuple[str, ...]) -> dict[str, Record]:
        """Rows by what their cells in `keys` say; a second one that says the same has its count behind."""
        found: dict[str, Record] = {}
        met: Counter[str] = Counter()
        for row in self.rows:
            name = " · ".join(self.cell(row, key) for key in keys)
            met[name] += 1
            marked = name if met[name] == 1 else f"{name} · {met[name]}"
            found[marked if marked not in found else f"{marked} · line {row.line}"] = row
        return found


def read_sheet(data: bytes, columns: Columns, findings: Findings) -> Sheet | None:
    """The sheet, or None with the reason noted: another encoding, broken quotation marks, no header."""
    mark, coding = next(((bom, name) for bom, name in BOMS if data.startswith(bom)), (b"", "utf-8"))
    try:
        text = data[len(mark) :].decode(coding)
    except UnicodeDecodeError:
        findings.add(None, "file", "text in UTF-8", "bytes of another encoding", "save it again as CSV UTF-8")
        return None
    delimiter = delimiter_of(text, columns)
    try:
        sheet = Sheet(text, delimiter, tuple(_records(text, delimiter)), mark, coding)
    except BrokenQuotesError as fault:
        fix = "look for a stray quotation mark"
        findings.add(
            fault.line, "row", "cells that can be told apart", "quotation marks that do not close", fix
        )
        return None
    if not sheet.filled:
        findings.add(1, "header", f"a header line with {', '.join(columns.needed)}", "nothing")
        return None
    return sheet


def _records(text: str, delimiter: str) -> Iterator[Record]:
    """Raises BrokenQuotesError."""
    bare = re.compile(rf"[^{re.escape(delimiter)}\r\n]*")
    place, line = 0, 1
    while place < len(text):
        start, first = place, line
        cells = [_cell(text, place, bare, delimiter, line)]
        while cells[-1].end < len(text) and text[cells[-1].end] == delimiter:
            line += _breaks(text, cells[-1])
            cells.append(_cell(text, cells[-1].end + 1, bare, delimiter, line))
        end = cells[-1].end
        line += _breaks(text, cells[-1])
        over = LINE_END.match(text, end)
        place = over.end() if over else end
        line += 1
        yield Record(first, start, end, place, tuple(cells))


def _breaks(text: str, cell: Span) -> int:
    return len(LINE_END.findall(text, cell.start, cell.end)) if cell.quoted else 0


def _cell(text: str, place: int, bare: re.Pattern[str], delimiter: str, line: int) -> Span:
    if text[place : place + 1] != '"':
        found = bare.match(text, place)
        end = found.end() if found else place
        return Span(place, end, text[place:end])
    quoted = QUOTED.match(text, place)
    if quoted is None or text[quoted.end() : quoted.end() + 1] not in ("", delimiter, "\r", "\n"):
        raise BrokenQuotesError(line)
    return Span(place, quoted.end(), quoted[1].replace('""', '"'), quoted=True)
