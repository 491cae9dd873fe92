"""Tables from CSV: a header line, then rows; every cell is kept as text with its line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from optimiser.loading.findings import Findings, shown
from optimiser.loading.text_files import read_text
from optimiser.problems import hidden_marks

MOST_ROWS = 60_000
LONGEST_HEADING = 80
MOST_COLUMNS = 100
LONGEST_CELL = 10_000
_UNIT = re.compile(r"(.*?)\s*[\[(]\s*(.*?)\s*[\])]\s*")


@dataclass(frozen=True, slots=True)
class Columns:
    """What a table may hold. `units` gives the unit a column may carry in its heading ("%" or "%|g")."""

    needed: tuple[str, ...]
    optional: tuple[str, ...] = ()
    units: Mapping[str, str] | None = None

    @property
    def names(self) -> tuple[str, ...]:
        return self.needed + self.optional

    def unit(self, name: str) -> str:
        return (self.units or {}).get(name, "")


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its line (or spreadsheet row) and its cells by column name; a missing cell is empty.

    `broken` rows had the wrong number of cells: only their first cell can be trusted.
    """

    line: int
    cells: Mapping[str, str]
    addresses: Mapping[str, str]
    broken: bool = False

    def __getitem__(self, name: str) -> str:
        return self.cells.get(name, "")

    def cell(self, name: str) -> str:
        """The column's name, or the spreadsheet cell such as C4."""
        return self.addresses.get(name, name)


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of one file in the order written; `header` holds the known columns that are there."""

    file: str
    header: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    units: Mapping[str, str] = field(default_factory=dict)


Address = Callable[[int, int], str]


def read_csv(path: Path, columns: Columns, findings: Findings) -> Table:
    """The CSV file at `path`, its delimiter told by the header (comma, semicolon or tab)."""
    text = read_text(path, findings)
    if text is None:
        return Table(findings.file)
    return build(_lines(text, columns, findings), columns, findings)


def _lines(text: str, columns: Columns, findings: Findings) -> Iterator[tuple[int, list[str]]]:
    """(line, cells) of each record; stops with a problem where the quoting breaks."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter_of(text, columns), strict=True)
    start = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            findings.add(
                start, "row", "cells that can be told apart", str(error), "look for a stray quotation mark"
            )
            return
        yield start, cells
        start = reader.line_num + 1


def delimiter_of(text: str, columns: Columns) -> str:
    """The mark between the cells of the header line: the one that parts most known columns."""
    first = next((line for line in text.splitlines() if line.strip()), "")

    def known(mark: str) -> tuple[int, int]:
        cells = [split_heading(cell.strip('" '))[0] for cell in first.split(mark)]
        return sum(cell in columns.names for cell in cells), len(cells)

    return max(",;\t", key=known)


def split_heading(text: str) -> tuple[str, str]:
    """("use_max", "%") from "Use max [%]"."""
    found = _UNIT.fullmatch(text) if len(text) <= LONGEST_HEADING else None
    name, unit = (found[1], found[2]) if found else (text, "")
    return re.sub(r"[\s_]+", "_", name.strip().casefold()), unit


def build(
    records: Iterator[tuple[int, list[str]]],
    columns: Columns,
    findings: Findings,
    address: Address | None = None,
) -> Table:
    """A table from (line, cells) records; `address` names a spreadsheet cell by line and column from 0."""
    filled = ((line, cells) for line, cells in records if any(cell.strip() for cell in cells))
    first = next(filled, None)
    if first is None:
        findings.add(1, "header", f"a header line with {', '.join(columns.needed)}", "nothing")
        return Table(findings.file)
    head = _header(first[0], first[1], columns, findings)
    if head is None:
        return Table(findings.file)
    rows: list[Row] = []
    for line, cells in filled:
        if len(rows) == MOST_ROWS:
            findings.add(line, "row", f"at most {MOST_ROWS} rows", "more", "split the file")
            break
        wide = len(cells) > max(len(first[1]), len(head)) and address is None
        rows.append(_row(line, cells, head, findings, address, wide=wide))
    units = {name: unit for name, unit in map(split_heading, first[1]) if name in head and unit}
    return Table(findings.file, tuple(name for name in head if name), tuple(rows), MappingProxyType(units))


def _header(line: int, cells: list[str], columns: Columns, findings: Findings) -> list[str] | None:
    """The column names in order ("" for one that is not known); None when a needed one is missing."""
    while cells and not cells[-1].strip():
        cells = cells[:-1]
    if len(cells) > MOST_COLUMNS:
        findings.add(line, "header", f"at most {MOST_COLUMNS} columns", str(len(cells)))
        return None
    named = [split_heading(cell) for cell in cells]
    missing = [name for name in columns.names if name not in {name for name, _ in named}]
    head: list[str] = []
    offered: set[str] = set()
    for name, unit in named:
        if name in head:
            findings.add(line, "header", "each column once", f"{shown(name)} twice", "remove or rename one")
        elif name not in columns.names:
            hint = findings.hint(name, missing)
            offered.update(word for word in missing if f'"{word}"' in hint)
            fix = hint or f"rename or remove it; the columns are {', '.join(columns.names)}"
            findings.add(line, "header", "a column of this table", shown(name), fix)
        elif unit and unit not in columns.unit(name).split("|"):
            findings.add(line, "header", _unit_wanted(columns.unit(name)), shown(unit), cell=name)
        head.append(name if name in columns.names and name not in head else "")
    lacking = [name for name in missing if name in columns.needed and name not in offered]
    if lacking:
        findings.add(
            line, "header", f"the column{'s' * (len(lacking) > 1)} {', '.join(lacking)}", "none such"
        )
    return None if any(name in columns.needed for name in missing) else head


def _unit_wanted(unit: str) -> str:
    return f"the unit {unit}" if unit else "no unit in the heading"


def _row(
    line: int,
    cells: list[str],
    head: list[str],
    findings: Findings,
    address: Address | None,
    *,
    wide: bool = False,
) -> Row:
    """A row; `wide`: it has more cells than the header line as written, so a cell was cut in two."""
    broken = wide or len(cells) < len(head) or any(cell.strip() for cell in cells[len(head) :])
    if broken:
        findings.add(
            line,
            "row",
            f"{len(head)} cells",
            str(len(cells)),
            "put cells that hold the separator in quotation marks",
        )
    named = [(number, name) for number, name in enumerate(head[: len(cells)]) if name]
    addresses = {name: address(line, number) for number, name in named} if address else {}
    whole = "".join(cells)
    if len(whole) <= LONGEST_CELL and not hidden_marks(whole):
        return Row(line, {name: clean_cell(cells[number]) for number, name in named}, addresses, broken)
    texts = {name: _clean(line, addresses.get(name, name), cells[number], findings) for number, name in named}
    return Row(line, texts, addresses, broken)


def _clean(line: int, where: str, cell: str, findings: Findings) -> str:
    """What the cell says, with what is wrong with it noted."""
    hidden = hidden_marks(cell)
    if hidden:
        findings.add(line, "cell", "text without invisible characters", hidden, "type the cell again", where)
    if len(cell) > LONGEST_CELL:
        findings.add(line, "cell", f"at most {LONGEST_CELL} characters", str(len(cell)), cell=where)
        return ""
    return clean_cell(cell)


def clean_cell(cell: str) -> str:
    """What a cell says: without outer blanks and the mark that keeps a spreadsheet from reckoning it."""
    text = cell.strip()
    return text[1:] if len(text) > 1 and text[0] == "'" and text[1] in "=+-@" else text


def several(text: str) -> tuple[str, ...]:
    """The values of a cell that holds several, separated by `;`."""
    if not text:
        return ()
    return tuple(part for part in (part.strip() for part in text.split(";")) if part)
