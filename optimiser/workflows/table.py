"""Changing the table of ingredients: what is wished, what would come of it, and the write.

Nothing is written before it was planned: a plan holds the bytes of every file before and after, what changes,
and every problem that the readers find in the folder as it would be.
"""

from __future__ import annotations

import hashlib
import re
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from optimiser.domain.changes import FileChange, Wish
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.table_csv import with_wishes, without_rows
from optimiser.files.atomic import write_atomic
from optimiser.files.journal import held
from optimiser.loading import ingredients
from optimiser.loading.csv_spans import Record, Sheet, read_sheet
from optimiser.loading.differences import KEYS, differences
from optimiser.loading.findings import Findings
from optimiser.loading.folder import open_folder
from optimiser.loading.names import find, words_of
from optimiser.loading.tables import several
from optimiser.loading.worktable import load_worktable
from optimiser.problems import Problem, in_order

FILE = "ingredients.csv"
FACTS = ("composition", "flags", "learned", "process", "properties")
"""Tables whose rows say something of one ingredient and mean nothing without it."""


class ChangedMeanwhileError(OptimiserError):
    """A file is not as it was when the change was planned; `file` is its name."""

    def __init__(self, file: str) -> None:
        super().__init__(f"{file} changed meanwhile, and nothing was written", "look at what changed")
        self.file = file


@dataclass(frozen=True)
class TableFile:
    """The table of ingredients as it lies in the folder."""

    data: bytes
    sheet: Sheet

    @property
    def digest(self) -> str:
        return digest_of(self.data)

    def row(self, name: str) -> Record | None:
        """The row of the ingredient with this id."""
        return self.sheet.find("id", name) if name else None


@dataclass(frozen=True, slots=True)
class Rewritten:
    """A file by its name in the folder, its bytes as they are and as they would be."""

    name: str
    before: bytes
    after: bytes


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be written. `problems` are those that stood not before: with one of them nothing is written;
    `standing` those that did. `wished` finds the wish behind a line of the table as it would be.
    """

    files: tuple[Rewritten, ...]
    changes: tuple[FileChange, ...]
    problems: tuple[Problem, ...] = ()
    standing: tuple[Problem, ...] = ()
    wished: Mapping[int, Wish] = field(default_factory=dict)

    @property
    def digest(self) -> str:
        """Of all bytes before and after."""
        total = hashlib.sha256()
        for one in self.files:
            for part in (one.name.encode(), one.before, one.after):
                total.update(len(part).to_bytes(8, "big") + part)
        return total.hexdigest()

    def back(self) -> Plan:
        """The plan that undoes this one."""
        files = tuple(Rewritten(one.name, one.after, one.before) for one in self.files)
        return Plan(files, _changes(files))


def digest_of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def open_table(folder: Path) -> TableFile:
    """The table as it is. Raises UsageError where it is no CSV file, DataError where it cannot be read."""
    path = folder / FILE
    if path.with_suffix(".xlsx").exists():
        raise UsageError(
            "The table of ingredients is a spreadsheet, ingredients.xlsx.",
            "change it in a spreadsheet program, or save it there as ingredients.csv and take the other away",
        )
    findings = Findings(FILE)
    try:
        data = path.read_bytes()
    except OSError as fault:
        findings.add(None, "file", "the table of ingredients", fault.strerror or "an error")
        raise DataError(tuple(findings.problems)) from fault
    table = table_of(data, findings)
    if table is None:
        raise DataError(tuple(findings.problems))
    sheet = table.sheet
    missing = [name for name in ingredients.COLUMNS.needed if name not in sheet.columns]
    if missing:
        findings.add(sheet.head.line, "header", f"the columns {', '.join(missing)}", "none such")
        raise DataError(tuple(findings.problems))
    return table


def table_of(data: bytes, findings: Findings | None = None) -> TableFile | None:
    """The table of these bytes; None, with the reason noted, where they cannot be cut into cells."""
    sheet = read_sheet(data, ingredients.COLUMNS, findings or Findings(FILE))
    return None if sheet is None else TableFile(data, sheet)


def plan(folder: Path, wishes: Iterable[Wish], standing: Iterable[Problem] | None = None) -> Plan:
    """What comes of the wishes. `standing` are the problems of the folder as it is, where they are known.

    With an ingredient go the rows of other tables that say something of it alone. Raises OptimiserError.
    """
    wanted = tuple(wishes)
    table = open_table(folder)
    after = table.sheet.encoded(with_wishes(table.sheet, wanted))
    files = [Rewritten(FILE, table.data, after), *_facts_taken_out(folder, table, wanted)]
    changed = tuple(one for one in files if one.before != one.after)
    before = load_worktable(folder)[1] if standing is None else tuple(standing)
    fresh, rest = apart(before, problems_with(folder, changed))
    if any(wish.gone for wish in wanted):
        lines = _lines_as_they_are(changed)
        fresh, rest = (
            in_order(replace(p, line=lines.get((p.file, p.line), p.line)) for p in them)
            for them in (fresh, rest)
        )
    return Plan(changed, _changes(changed), fresh, rest, _wished(after, wanted))


def problems_with(folder: Path, files: Iterable[Rewritten]) -> tuple[Problem, ...]:
    """What the readers find in the folder with these files in place of its own."""
    contents = {**open_folder(folder).contents(), **{one.name: one.after for one in files}}
    with tempfile.TemporaryDirectory() as place:
        for name, data in contents.items():
            path = Path(place) / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)
        return load_worktable(Path(place))[1]


def apart(
    before: Iterable[Problem], after: Iterable[Problem]
) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """Problems that stood not before, and those that did; lines that only moved make no difference."""
    known = Counter(map(_but_for_lines, before))
    fresh: list[Problem] = []
    rest: list[Problem] = []
    for one in after:
        mark = _but_for_lines(one)
        (rest if known[mark] > 0 else fresh).append(one)
        known[mark] -= 1
    return in_order(fresh), in_order(rest)


def write(folder: Path, planned: Plan) -> None:
    """Writes what was planned, or nothing. Raises ChangedMeanwhileError, DataError or OptimiserError."""
    if planned.problems:
        raise DataError(planned.problems)
    with ExitStack() as stack:
        for one in sorted(planned.files, key=lambda one: one.name):
            stack.enter_context(held(folder / one.name))
        for one in planned.files:
            if _bytes(folder / one.name) != one.before:
                raise ChangedMeanwhileError(one.name)
        _put(folder, sorted(planned.files, key=lambda one: one.name == FILE))


def take_back(folder: Path, planned: Plan, standing: Iterable[Problem] | None = None) -> Plan:
    """Undoes a plan that was written; returns what was done, so that it can be undone too.

    Raises ChangedMeanwhileError where a file changed since, DataError where new problems would come of it.
    """
    back = planned.back()
    for one in back.files:
        if _bytes(folder / one.name) != one.before:
            raise ChangedMeanwhileError(one.name)
    before = load_worktable(folder)[1] if standing is None else standing
    fresh, _ = apart(before, problems_with(folder, back.files))
    if fresh:
        raise DataError(fresh)
    write(folder, back)
    return back


def _put(folder: Path, files: list[Rewritten]) -> None:
    """All of them; where one cannot be written, those before it are put back."""
    written: list[Rewritten] = []
    try:
        for one in files:
            write_atomic(folder / one.name, one.after)
            written.append(one)
    except OptimiserError:
        for one in reversed(written):
            with suppress(OptimiserError):
                write_atomic(folder / one.name, one.before)
        raise


def _facts_taken_out(folder: Path, table: TableFile, wishes: tuple[Wish, ...]) -> Iterator[Rewritten]:
    """Tables without the rows that speak of ingredients which go."""
    sheet = table.sheet
    ids = Counter(sheet.cell(row, "id") for row in sheet.rows)
    going = {wish.name for wish in wishes if wish.gone and ids[wish.name] == 1}
    if not going:
        return
    cells = [sheet.cells(row) for row in sheet.rows]
    words = words_of((one["id"], one["name"], several(one.get("aliases", ""))) for one in cells)
    for name in FACTS:
        data = _bytes(folder / f"{name}.csv")
        found = None if data is None else read_sheet(data, KEYS[name][0], Findings(f"{name}.csv"))
        if data is None or found is None:
            continue
        rows = [row for row in found.rows if _owner(found.cell(row, "ingredient"), words) in going]
        if rows:
            yield Rewritten(f"{name}.csv", data, found.encoded(without_rows(found, rows)))


def _lines_as_they_are(files: Iterable[Rewritten]) -> dict[tuple[str, int | None], int]:
    """The line that a row has now, by its line once rows above it are taken out."""
    found: dict[tuple[str, int | None], int] = {}
    for one in files:
        columns = KEYS[one.name.removesuffix(".csv")][0]
        old, new = (read_sheet(data, columns, Findings(one.name)) for data in (one.before, one.after))
        left = list(new.rows) if new else []
        for row in old.rows if old else ():
            if left and [cell.text for cell in row.cells] == [cell.text for cell in left[0].cells]:
                found[one.name, left.pop(0).line] = row.line
    return found


def _owner(word: str, words: Mapping[str, tuple[str, ...]]) -> str:
    found = find(words, word, lambda _word, _known: "")
    return found if isinstance(found, str) else ""


def _wished(after: bytes, wishes: tuple[Wish, ...]) -> Mapping[int, Wish]:
    """Wishes by the line on which they stand in the table as it would be."""
    table = table_of(after)
    if table is None:
        return {}
    sheet = table.sheet
    last = {sheet.cell(row, "id"): row.line for row in sheet.rows}
    first = {sheet.cell(row, "id"): row.line for row in reversed(sheet.rows)}
    found = {}
    for wish in wishes:
        name = {**wish.whole, **wish.cells}.get("id", wish.name)
        line = (last if wish.fresh else first).get(name)
        if line is not None and not wish.gone:
            found[line] = wish
    return found


def _changes(files: Iterable[Rewritten]) -> tuple[FileChange, ...]:
    pairs = tuple(files)
    return differences({one.name: one.before for one in pairs}, {one.name: one.after for one in pairs})


def _but_for_lines(problem: Problem) -> tuple[str, ...]:
    """What tells one problem from another; the fix may hang on how many there are of a kind."""
    said = (problem.expected, problem.found)
    return (problem.file, problem.entry, problem.cell, *(re.sub(r"line \d+", "line", text) for text in said))


def _bytes(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None
