"""What changed between two states of a worktable's files: of a table its rows and cells, else its lines."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import PurePosixPath

from optimiser.domain.changes import CellChange, FileChange, RowChange
from optimiser.loading.csv_spans import read_sheet
from optimiser.loading.described import TABLES
from optimiser.loading.findings import Findings
from optimiser.loading.formula_tables import COLUMNS as FORMULAS
from optimiser.loading.tables import Columns
from optimiser.loading.workbooks import table_of_book
from optimiser.problems import visible

MOST_LINES = 4000
MOST_SHOWN = 12
Row = tuple[int, Mapping[str, str]]


def differences(before: Mapping[str, bytes], after: Mapping[str, bytes]) -> tuple[FileChange, ...]:
    """Each file (by its name within the folder) that is not the same, in the order of the names."""
    return tuple(
        _file(name, before.get(name), after.get(name))
        for name in sorted({*before, *after})
        if before.get(name) != after.get(name)
    )


def _file(name: str, before: bytes | None, after: bytes | None) -> FileChange:
    kind = "new" if before is None else "gone" if after is None else "changed"
    path = PurePosixPath(name)
    shown = visible(name)
    if path.suffix.casefold() in (".csv", ".xlsx", ".tsv"):
        known = TABLES.get(path.stem)
        columns, keys = (known.columns, known.keys) if known else (FORMULAS, ("ingredient",))
        old, new = (_rows(name, data, columns, keys) for data in (before, after))
        return FileChange(shown, kind, tuple(_changed_rows(old, new)))  # type: ignore[arg-type]
    return FileChange(shown, kind, lines=tuple(_lines(before or b"", after or b"")))  # type: ignore[arg-type]


def _rows(
    name: str, data: bytes | None, columns: Columns, keys: tuple[str, ...]
) -> dict[tuple[str, int], Row]:
    """Rows by what tells them apart, the same twice counted; nothing for what cannot be read."""
    found: dict[tuple[str, int], Row] = {}
    met: Counter[str] = Counter()
    for line, cells in _records(name, data, columns):
        words = " · ".join(cells.get(key, "") for key in keys).strip(" ·")
        found[words, met[words]] = (line, cells)
        met[words] += 1
    return found


def _records(name: str, data: bytes | None, columns: Columns) -> Iterator[Row]:
    findings = Findings(name)
    if data is None:
        return
    if name.casefold().endswith(".xlsx"):
        for row in table_of_book(data, columns, findings, "point").rows:
            yield row.line, row.cells
        return
    sheet = read_sheet(data, columns, findings)
    if sheet is not None:
        for record in sheet.rows:
            yield record.line, sheet.cells(record)


def _changed_rows(
    before: Mapping[tuple[str, int], Row], after: Mapping[tuple[str, int], Row]
) -> Iterator[RowChange]:
    """What changed and what is new in the order of the file as it is, then what is gone."""
    for key, (line, cells) in after.items():
        if key not in before:
            yield RowChange("new", visible(key[0]), line, _cells({}, cells))
        elif changed := _cells(before[key][1], cells):
            yield RowChange("changed", visible(key[0]), line, changed)
    for key, (line, cells) in before.items():
        if key not in after:
            yield RowChange("gone", visible(key[0]), line, _cells(cells, {}))


def _cells(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[CellChange, ...]:
    names = dict.fromkeys((*after, *before))
    pairs = ((name, before.get(name, ""), after.get(name, "")) for name in names)
    return tuple(CellChange(visible(n), _text(b), _text(a)) for n, b, a in pairs if b != a)


def _text(cell: str) -> str:
    """The text of a cell in its own lines."""
    return "\n".join(map(visible, cell.splitlines()))


def _lines(before: bytes, after: bytes) -> Iterator[str]:
    """The first lines that came (+) or went (-)."""
    old, new = (data.decode("utf-8", "replace").splitlines() for data in (before, after))
    if max(len(old), len(new)) > MOST_LINES:
        return
    told = 0
    for line in difflib.unified_diff(old, new, n=0, lineterm=""):
        if line[:1] in "+-" and line[:3] not in ("+++", "---") and line[1:].strip():
            told += 1
            if told > MOST_SHOWN:
                yield "…"
                return
            yield f"{line[0]} {visible(line[1:], 200)}"
