"""A spreadsheet taken into the table of ingredients: row by row, by id."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from optimiser.domain.changes import Wish
from optimiser.loading.findings import Findings, shown
from optimiser.loading.folder import open_folder
from optimiser.loading.ingredients import COLUMNS
from optimiser.loading.reference import load_limits
from optimiser.loading.settings import read_settings
from optimiser.loading.tables import Columns, Row, Table, read_csv
from optimiser.loading.workbooks import read_xlsx
from optimiser.loading.yaml_nodes import read_yaml
from optimiser.problems import Problem, in_order
from optimiser.units.numbers import DecimalMark
from optimiser.workflows.table import FILE, Plan, TableFile, open_table, plan

ASKED = Columns(("id",), tuple(name for name in COLUMNS.names if name != "id"), COLUMNS.units)
"""A table taken in may bring some columns only, such as id and pack_price."""

EMPTY = "an empty cell"


@dataclass(frozen=True, slots=True)
class Brought:
    """What a table would do. `problems` name the file that was sent, its line and column; with one of them
    nothing is taken in. `same` rows say what the table says already.
    """

    plan: Plan
    problems: tuple[Problem, ...]
    same: int


def bring(
    folder: Path, path: Path, *, empty_too: bool = False, standing: Iterable[Problem] | None = None
) -> Brought:
    """What taking in the table at `path` (CSV or XLSX) would do; nothing is written.

    An empty cell leaves what stands, with `empty_too` it empties it. Raises OptimiserError where the folder's
    own table cannot be read.
    """
    table = open_table(folder)
    findings = Findings(path.name)
    read = _read(path, findings, decimal_of(folder))
    wishes, same = _wishes(read, table, findings, empty_too=empty_too)
    planned = plan(folder, wishes, standing)
    rows = {row.line: row for row in read.rows}
    meant = _meant(planned, table, findings)
    told = [_where_it_was_read(one, planned, rows, read.file, meant) for one in planned.problems]
    return Brought(planned, in_order([*findings.problems, *told]), same)


def decimal_of(folder: Path) -> DecimalMark:
    """The decimal mark of the folder's settings; the point where they cannot be read."""
    source = open_folder(folder).settings
    node = None if source is None else read_yaml(source.path, Findings(source.name))
    if node is None:
        return "point"
    places = tuple(sorted({limit.jurisdiction for limit in load_limits()}))
    return read_settings(node, places, Findings(FILE)).decimal


def _read(path: Path, findings: Findings, decimal: DecimalMark) -> Table:
    if path.suffix.casefold() == ".xlsx":
        return read_xlsx(path, ASKED, findings, decimal)
    return read_csv(path, ASKED, findings)


def _wishes(
    read: Table, table: TableFile, findings: Findings, *, empty_too: bool
) -> tuple[tuple[Wish, ...], int]:
    """The wishes of rows that say something new, and the count of those that do not."""
    sheet = table.sheet
    known = {sheet.cell(row, "id"): sheet.cells(row) for row in reversed(sheet.rows)}
    first: dict[str, int] = {}
    wishes, same = [], 0
    for row in read.rows:
        name = row["id"]
        if row.broken:
            continue
        if not name:
            findings.add(row.line, "row", "a value for id", EMPTY, cell=row.cell("id"))
            continue
        if name in first:
            found = f"{shown(name)} again (first on line {first[name]})"
            findings.add(row.line, name, "each id once", found, "remove one", row.cell("id"))
            continue
        first[name] = row.line
        said = {column: text for column, text in row.cells.items() if text or empty_too}
        stands = known.get(name)
        if stands is not None:
            said = {column: text for column, text in said.items() if text != stands.get(column, "")}
        if said:
            wishes.append(Wish(name, said, dict(row.cells), line=row.line))
        else:
            same += 1
    return tuple(wishes), same


def _meant(planned: Plan, table: TableFile, findings: Findings) -> Mapping[str, str]:
    """By name, the near id of the table for each new row that lacks what a new ingredient needs."""
    known = {table.sheet.cell(row, "id") for row in table.sheet.rows}
    lacking = sorted({one.line or 0 for one in planned.problems if one.file == FILE and one.found == EMPTY})
    new = [wish.name for line in lacking if (wish := planned.wished.get(line)) and wish.name not in known]
    return {name: findings.hint(name, known) for name in new}


def _where_it_was_read(
    problem: Problem, planned: Plan, rows: Mapping[int, Row], file: str, meant: Mapping[str, str]
) -> Problem:
    """The problem of a row that was taken in, at its place in the file that was sent."""
    wish = planned.wished.get(problem.line or 0) if problem.file == FILE else None
    row = None if wish is None else rows.get(wish.line or 0)
    if wish is None or row is None:
        return problem
    fix = problem.fix or (meant.get(wish.name, "") if problem.found == EMPTY else "")
    return replace(problem, file=file, line=row.line, cell=row.cell(problem.cell), fix=fix)
