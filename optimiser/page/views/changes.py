"""What changed, or would change, in the files, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from optimiser.domain.changes import FileChange, RowChange
from optimiser.page.views.columns import LABELS

MOST_ROWS = 200
TITLES: Mapping[str, str] = {"new": "new", "gone": "taken out", "changed": "changed"}


@dataclass(frozen=True, slots=True)
class CellShown:
    column: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class RowShown:
    name: str
    state: str
    about: str
    line: str
    cells: tuple[CellShown, ...]


@dataclass(frozen=True, slots=True)
class FileShown:
    """A file, what happened to it in a sentence, and its rows (the first of many) or lines."""

    file: str
    told: str
    rows: tuple[RowShown, ...]
    lines: tuple[str, ...]
    left: int = 0


def files_shown(changes: Iterable[FileChange], *, past: bool = False) -> tuple[FileShown, ...]:
    """With `past` the sentences speak of what happened, else of what would."""
    return tuple(_file(one, past=past) for one in changes)


def _file(change: FileChange, *, past: bool) -> FileShown:
    return FileShown(
        change.file,
        told(change, past=past),
        tuple(_row(row, LABELS.get(change.file, {})) for row in change.rows[:MOST_ROWS]),
        change.lines,
        max(0, len(change.rows) - MOST_ROWS),
    )


def told(change: FileChange, *, past: bool = True) -> str:
    """ "2 rows changed, 1 row new"."""
    if change.kind != "changed" and not change.rows:
        return "this file is new" if change.kind == "new" else "this file is gone"
    counts = [(change.count(kind), TITLES[kind]) for kind in ("changed", "new", "gone")]
    words = [f"{count} row{'' if count == 1 else 's'} {title}" for count, title in counts if count]
    if words:
        return ", ".join(words)
    if change.lines:
        count, more = len(change.lines), change.lines[-1] == "…"
        return f"{'more than ' if more else ''}{count - more} line{'' if count == 1 else 's'} changed"
    return "changed, but no row of it: only marks between cells, or it cannot be read" if past else "no row"


def _row(row: RowChange, labels: Mapping[str, str]) -> RowShown:
    cells = tuple(CellShown(labels.get(one.column, one.column), one.before, one.after) for one in row.cells)
    names = (c.after or c.before for c in row.cells if c.column == "name" and row.kind != "changed")
    line = f"line {row.line}" if row.line is not None and row.kind != "gone" else ""
    about = " · ".join(filter(None, (next(names, ""), TITLES[row.kind])))
    return RowShown(row.name, row.kind, about, line, cells)
