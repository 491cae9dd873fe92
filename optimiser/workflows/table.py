"""Changing a table of the worktable: what is wished, what would come of it, and the write.

Nothing is written before it was planned: a plan holds the bytes of every file before and after, what changes,
and every problem that the readers find in the folder as it would be.
"""

from __future__ import annotations

import hashlib
import re
import tempfile
import threading
from collections import Counter, OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from optimiser.domain.changes import FileChange, Wish
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.table_csv import with_wishes, without_rows
from optimiser.files.atomic import write_atomic
from optimiser.files.journal import held
from optimiser.loading.csv_spans import Record, Sheet, read_sheet
from optimiser.loading.described import INGREDIENTS, TABLES, Described
from optimiser.loading.differences import differences
from optimiser.loading.findings import Findings
from optimiser.loading.folder import open_folder
from optimiser.loading.names import find, words_of
from optimiser.loading.tables import several
from optimiser.loading.worktable import load_worktable
from optimiser.problems import Problem, in_order

FILE = INGREDIENTS.file
FACTS = ("composition", "flags", "learned", "process", "properties")
"""Tables whose rows say something of one ingredient and mean nothing without it."""
IN_A_SPREADSHEET = "change it in a spreadsheet program, or save it there as CSV and take the other away"

MOST_KEPT = 2_000_000
"""Bytes of the tables that are kept cut into cells; their cells take some thirty times as much."""


class ChangedMeanwhileError(OptimiserError):
    """A file is not as it was when the change was planned; `file` is its name."""

    def __init__(self, file: str) -> None:
        super().__init__(f"{file} changed meanwhile, and nothing was written", "look at what changed")
        self.file = file


@dataclass(frozen=True)
class TableFile:
    """A table as it lies in the folder; without `data` it lies there not yet, and `sheet` is its header."""

    data: bytes | None
    sheet: Sheet
    described: Described = INGREDIENTS

    @cached_property
    def rows(self) -> Mapping[str, Record]:
        """Rows by what tells them apart."""
        return self.sheet.named(self.described.keys)

    @cached_property
    def words(self) -> Mapping[str, tuple[str, ...]]:
        """What each ingredient of the table of ingredients may be called."""
        cells = [self.sheet.cells(row) for row in self.sheet.rows]
        return words_of((one["id"], one["name"], several(one.get("aliases", ""))) for one in cells)

    def row(self, name: str) -> Record | None:
        """The row that is called so; of the ingredients that with this id."""
        return self.rows.get(name) if name else None


@dataclass(frozen=True, slots=True)
class Rewritten:
    """A file by its name in the folder, its bytes as they are and as they would be; None for no file."""

    name: str
    before: bytes | None
    after: bytes | None


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
                size = b"none" if part is None else b"%d:" % len(part)
                total.update(size + (part or b""))
        return total.hexdigest()

    def back(self) -> Plan:
        """The plan that undoes this one."""
        files = tuple(Rewritten(one.name, one.after, one.before) for one in self.files)
        return Plan(files, _changes(files))


def digest_of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def open_table(folder: Path, described: Described = INGREDIENTS) -> TableFile:
    """The table as it is; any but the table of ingredients may be missing yet.

    Raises UsageError where it is no CSV file, DataError where it cannot be read.
    """
    if elsewhere := not_here(folder, described):
        raise UsageError(f"The table {described.name} is a spreadsheet, {elsewhere}.", IN_A_SPREADSHEET)
    findings = Findings(described.file)
    try:
        data = _bytes(folder / described.file)
    except OSError as fault:
        findings.add(None, "file", "a table that can be read", fault.strerror or "an error")
        raise DataError(tuple(findings.problems)) from fault
    if data is None and described.header:
        return _begun(described, open_table(folder).sheet)
    if data is None:
        findings.add(None, "file", "the table of ingredients", "no such file")
        raise DataError(tuple(findings.problems))
    table = table_of(data, described, findings)
    if table is None:
        raise DataError(tuple(findings.problems))
    missing = [name for name in described.columns.needed if name not in table.sheet.columns]
    if missing:
        findings.add(table.sheet.head.line, "header", f"the columns {', '.join(missing)}", "none such")
        raise DataError(tuple(findings.problems))
    return table


def not_here(folder: Path, described: Described) -> str:
    """The name of the spreadsheet in which the table lies instead; that is changed in its own program."""
    name = f"{described.name}.xlsx"
    return name if (folder / name).exists() else ""


def _begun(described: Described, like: Sheet) -> TableFile:
    """A table of no rows yet, its bytes in the manner of `like`."""
    end = next((like.text[row.end : row.after] for row in like.filled if row.after > row.end), "\n")
    data = like.encoded(like.delimiter.join(described.header) + end)
    sheet = read_sheet(data, described.columns, Findings(described.file))
    assert sheet is not None  # noqa: S101
    return TableFile(None, sheet, described)


def table_of(
    data: bytes, described: Described = INGREDIENTS, findings: Findings | None = None
) -> TableFile | None:
    """The table of these bytes; None, with the reason noted, where they cannot be cut into cells."""
    if known := _CUT.get(data, described.name):
        return known
    sheet = read_sheet(data, described.columns, findings or Findings(described.file))
    return None if sheet is None else _CUT.kept(data, TableFile(data, sheet, described))


class _Cut:
    """Tables that were cut into cells before, the one used longest ago let go first."""

    def __init__(self) -> None:
        self._held: OrderedDict[tuple[str, bytes], TableFile] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, data: bytes, name: str) -> TableFile | None:
        with self._lock:
            found = self._held.get((name, data))
            if found is not None:
                self._held.move_to_end((name, data))
            return found

    def kept(self, data: bytes, table: TableFile) -> TableFile:
        """One that is larger than all that may be kept is not."""
        with self._lock:
            if len(data) <= MOST_KEPT:
                self._held[table.described.name, data] = table
            while sum(len(held) for _, held in self._held) > MOST_KEPT:
                self._held.popitem(last=False)
        return table


_CUT = _Cut()


def plan(
    folder: Path,
    wishes: Iterable[Wish],
    standing: Iterable[Problem] | None = None,
    described: Described = INGREDIENTS,
) -> Plan:
    """What comes of the wishes. `standing` are the problems of the folder as it is, where they are known.

    With an ingredient go the rows of other tables that say something of it alone. Raises OptimiserError.
    """
    wanted = tuple(wishes)
    table = open_table(folder, described)
    after = table.sheet.encoded(with_wishes(table.sheet, wanted, described.keys))
    files = [Rewritten(described.file, table.data, after)]
    if described is INGREDIENTS:
        files += _facts_taken_out(folder, table, wanted)
    changed = tuple(one for one in files if one.before != one.after)
    before = load_worktable(folder)[1] if standing is None else tuple(standing)
    fresh, rest = apart(before, problems_with(folder, changed))
    if any(wish.gone for wish in wanted):
        lines = _lines_as_they_are(changed)
        fresh, rest = (
            in_order(replace(p, line=lines.get((p.file, p.line), p.line)) for p in them)
            for them in (fresh, rest)
        )
    return Plan(changed, _changes(changed), fresh, rest, _wished(table, after, wanted))


def problems_with(folder: Path, files: Iterable[Rewritten]) -> tuple[Problem, ...]:
    """What the readers find in the folder with these files in place of its own."""
    contents: dict[str, bytes | None] = {**open_folder(folder).contents()}
    contents |= {one.name: one.after for one in files}
    with tempfile.TemporaryDirectory() as place:
        for name, data in contents.items():
            if data is not None:
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
        _refuse_changed(folder, planned)
        _put(folder, sorted(planned.files, key=lambda one: one.name == FILE))


def take_back(folder: Path, planned: Plan, standing: Iterable[Problem] | None = None) -> Plan:
    """Undoes a plan that was written; returns what was done, so that it can be undone too.

    Raises ChangedMeanwhileError where a file changed since, DataError where new problems would come of it.
    """
    back = planned.back()
    _refuse_changed(folder, back)
    before = load_worktable(folder)[1] if standing is None else standing
    fresh, _ = apart(before, problems_with(folder, back.files))
    if fresh:
        raise DataError(fresh)
    write(folder, back)
    return back


def _refuse_changed(folder: Path, planned: Plan) -> None:
    """Raises ChangedMeanwhileError for a file that is not as it was planned with."""
    for one in planned.files:
        if not _lies(folder / one.name, one.before):
            raise ChangedMeanwhileError(one.name)


def lies(folder: Path, planned: Plan, *, after: bool) -> bool:
    """Whether every file of the plan is as before it, or as `after` it."""
    return all(_lies(folder / one.name, one.after if after else one.before) for one in planned.files)


def _lies(path: Path, data: bytes | None) -> bool:
    try:
        return _bytes(path) == data
    except OSError:
        return False


def _put(folder: Path, files: list[Rewritten]) -> None:
    """All of them; where one cannot be written, those before it are put back."""
    written: list[Rewritten] = []
    try:
        for one in files:
            _place(folder / one.name, one.after)
            written.append(one)
    except OptimiserError:
        for one in reversed(written):
            with suppress(OptimiserError):
                _place(folder / one.name, one.before)
        raise


def _place(path: Path, data: bytes | None) -> None:
    """The file with these bytes, or no such file. Raises OptimiserError."""
    if data is not None:
        write_atomic(path, data)
        return
    try:
        path.unlink(missing_ok=True)
    except OSError as fault:
        why = (fault.strerror or "the system refused").lower()
        raise OptimiserError(
            f"{path} cannot be taken away: {why}", "check the folder and its rights"
        ) from fault


def _facts_taken_out(folder: Path, table: TableFile, wishes: tuple[Wish, ...]) -> Iterator[Rewritten]:
    """Tables without the rows that speak of ingredients which go."""
    sheet = table.sheet
    ids = Counter(sheet.cell(row, "id") for row in sheet.rows)
    going = {wish.name for wish in wishes if wish.gone and ids[wish.name] == 1}
    if not going:
        return
    words = table.words
    for described in (TABLES[name] for name in FACTS):
        with suppress(OSError):
            data = _bytes(folder / described.file)
            found = table_of(data, described) if data is not None else None
            rows = [row for row in found.sheet.rows if owner_of(found, row, words) in going] if found else []
            if found and rows:
                after = found.sheet.encoded(without_rows(found.sheet, rows))
                yield Rewritten(described.file, data, after)


def _lines_as_they_are(files: Iterable[Rewritten]) -> dict[tuple[str, int | None], int]:
    """The line that a row has now, by its line once rows above it are taken out."""
    found: dict[tuple[str, int | None], int] = {}
    for one in files:
        described = TABLES[one.name.removesuffix(".csv")]
        old, new = (data and table_of(data, described) for data in (one.before, one.after))
        left = list(new.sheet.rows) if new else []
        for row in old.sheet.rows if old else ():
            if left and [cell.text for cell in row.cells] == [cell.text for cell in left[0].cells]:
                found[one.name, left.pop(0).line] = row.line
    return found


def owner_of(table: TableFile, row: Record, words: Mapping[str, tuple[str, ...]]) -> str:
    """The id of the ingredient that the row speaks of; nothing where it speaks of no one of them."""
    found = find(words, table.sheet.cell(row, "ingredient"), lambda _word, _known: "")
    return found if isinstance(found, str) else ""


def _wished(table: TableFile, after: bytes, wishes: tuple[Wish, ...]) -> Mapping[int, Wish]:
    """Wishes by their line in the table as it would be: rows stay in order, new ones come last."""
    then = table_of(after, table.described)
    rows = then.sheet.rows if then else ()
    gone = {table.rows[wish.name].start for wish in wishes if wish.gone and wish.name in table.rows}
    left = [row for row in table.sheet.rows if row.start not in gone]
    places = {row.start: new.line for row, new in zip(left, rows, strict=False)}
    added = iter(row.line for row in rows[len(left) :])
    found = {}
    for wish in wishes:
        row = None if wish.fresh else table.row(wish.name)
        line = places.get(row.start) if row else None if wish.gone else next(added, None)
        if line is not None and not wish.gone:
            found[line] = wish
    return found


def _changes(files: Iterable[Rewritten]) -> tuple[FileChange, ...]:
    pairs = tuple(files)
    before, after = (
        {name: data for name, data in them if data is not None}
        for them in (((one.name, one.before) for one in pairs), ((one.name, one.after) for one in pairs))
    )
    return differences(before, after)


def _but_for_lines(problem: Problem) -> tuple[str, ...]:
    """What tells one problem from another; the fix may hang on how many there are of a kind."""
    said = (problem.expected, problem.found)
    return (problem.file, problem.entry, problem.cell, *(re.sub(r"line \d+", "line", text) for text in said))


def _bytes(path: Path) -> bytes | None:
    """None where there is no such file. Raises OSError."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
