"""A table with some rows changed: every other byte of the text stays as it was."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from optimiser.domain.changes import Wish
from optimiser.errors import OptimiserError
from optimiser.loading.csv_spans import Record, Sheet
from optimiser.loading.tables import clean_cell

RECKONED = ("=", "+", "-", "@")
Edit = tuple[int, int, int, str]
CELL, COLUMN, ROW = 0, 1, 2
"""What comes first of several changes at one place."""


def with_wishes(sheet: Sheet, wishes: Iterable[Wish], keys: tuple[str, ...] = ("id",)) -> str:
    """The text of the sheet with every wish met; rows are named by the columns `keys`, new ones come last.

    A column that the table lacks is added where a wish has something for it. Raises OptimiserError for a row
    that is broken, or where the text would not read back as wished.
    """
    work = _Work(sheet)
    named = sheet.named(keys)
    all_of_them = tuple(wishes)
    work.widen({name for one in all_of_them for name, text in _wanted(one).items() if text})
    for wish in all_of_them:
        row = None if wish.fresh else named.get(wish.name)
        if wish.gone:
            if row is not None:
                work.take_out(row)
        elif row is None:
            work.add(_wanted(wish))
        else:
            work.set(row, wish.cells)
    return work.text()


def without_rows(sheet: Sheet, rows: Iterable[Record]) -> str:
    """The text without these rows."""
    work = _Work(sheet)
    for row in rows:
        work.take_out(row)
    return work.text()


def still(text: str) -> str:
    """The text as it stands in a cell, so that a spreadsheet reckons nothing of it."""
    return f"'{text}" if text[:1] in RECKONED else text


def _wanted(wish: Wish) -> Mapping[str, str]:
    return wish.whole or wish.cells


@dataclass(slots=True)
class _Work:
    """Changes to one sheet, gathered; beside them what every row should say in the end."""

    sheet: Sheet
    edits: list[Edit] = field(default_factory=list)
    added: list[str] = field(default_factory=list)
    more: tuple[str, ...] = ()
    expected: dict[int, list[str] | None] = field(default_factory=dict)
    fresh: list[list[str]] = field(default_factory=list)

    @property
    def columns(self) -> tuple[str, ...]:
        return (*self.sheet.columns, *self.more)

    def widen(self, wanted: set[str]) -> None:
        """Adds the columns that are not there to the header and to every whole row."""
        self.more = tuple(sorted(wanted - set(self.sheet.columns)))
        if not self.more:
            return
        mark, head = self.sheet.delimiter, self.sheet.head
        self.edits.append((head.end, head.end, COLUMN, "".join(mark + name for name in self.more)))
        for row in self.sheet.rows:
            if len(row.cells) == len(head.cells):
                self.edits.append((row.end, row.end, COLUMN, mark * len(self.more)))
                self.expected[row.start] = [*self._said(row), *("" for _ in self.more)]

    def _said(self, row: Record) -> list[str]:
        return [clean_cell(cell.text) for cell in row.cells]

    def take_out(self, row: Record) -> None:
        self.edits.append((row.start, row.after, ROW, ""))
        self.expected[row.start] = None

    def set(self, row: Record, cells: Mapping[str, str]) -> None:
        """Only cells that say something else are touched."""
        has, wanted = len(row.cells), len(self.sheet.head.cells)
        if has != wanted:
            what = f"line {row.line} has {has} cells where the header has {wanted}"
            raise OptimiserError(what, "mend the row in the file first")
        said = self.expected.get(row.start) or self._said(row)
        tail = ["" for _ in self.more]
        for name, text in cells.items():
            if name not in self.columns:
                continue
            place = self.columns.index(name)
            if place >= len(row.cells):
                tail[place - len(row.cells)] = text
            elif clean_cell(text) != said[place]:
                old = row.cells[place]
                self.edits.append((old.start, old.end, CELL, self._cell(text, quoted=old.quoted)))
            said[place] = clean_cell(text)
        if any(tail):
            mark = self.sheet.delimiter
            blank = self.edits.index((row.end, row.end, COLUMN, mark * len(tail)))
            self.edits[blank] = (row.end, row.end, COLUMN, "".join(mark + self._cell(text) for text in tail))
        self.expected[row.start] = said

    def add(self, cells: Mapping[str, str]) -> None:
        texts = [cells.get(name, "") if name else "" for name in self.columns]
        self.added.append(self.sheet.delimiter.join(self._cell(text) for text in texts))
        self.fresh.append([clean_cell(text) for text in texts])

    def _cell(self, text: str, *, quoted: bool = False) -> str:
        text = still(clean_cell(text))
        if (
            quoted
            or text != text.strip()
            or any(mark in text for mark in (self.sheet.delimiter, '"', "\r", "\n"))
        ):
            return '"' + text.replace('"', '""') + '"'
        return text

    def text(self) -> str:
        """The new text. Raises OptimiserError where it would not read back as it should."""
        text, last, break_ = self.sheet.text, self.sheet.filled[-1], self._line_end()
        edits = [*self.edits, (last.end, last.end, ROW, "".join(break_ + row for row in self.added))]
        parts, place = [], 0
        for start, end, _, put in sorted(edits):
            parts += [text[place:start], put]
            place = max(place, end)
        new = "".join([*parts, text[place:]])
        if self._takes_out(last) and last.after == last.end:
            new = new[: len(new) - len(break_)] if new.endswith(break_) else new
        self._check(new)
        return new

    def _takes_out(self, row: Record) -> bool:
        return row.start in self.expected and self.expected[row.start] is None

    def _line_end(self) -> str:
        """The line end of the last row that has one."""
        ends = [self.sheet.text[row.end : row.after] for row in self.sheet.filled]
        return next((end for end in reversed(ends) if end), "\n")

    def _check(self, text: str) -> None:
        rows = [self.expected.get(row.start, self._said(row)) for row in self.sheet.rows]
        expected = [row for row in rows if row is not None] + self.fresh
        read = rows_of(text, self.sheet)
        if read != expected:
            raise OptimiserError(
                "the table would not read back as wished, so nothing was written", "change it in the file"
            )


def rows_of(text: str, like: Sheet) -> Sequence[list[str]]:
    """What the rows of another text in the manner of `like` say."""
    sheet = like.again(text)
    return [[clean_cell(cell.text) for cell in row.cells] for row in sheet.rows]
