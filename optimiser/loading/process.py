"""process.csv: the known way of adding an ingredient."""

from __future__ import annotations

from collections.abc import Iterable

from optimiser.domain.ingredient import Way
from optimiser.loading.cells import Cells
from optimiser.loading.names import Reader
from optimiser.loading.owners import Owned, read_owner
from optimiser.loading.tables import Columns, Table, several

COLUMNS = Columns(
    ("ingredient", "stage", "add_as"),
    ("carried_by", "carried_ratio", "add_from_c", "add_to_c", "wait_min", "needs", "wear"),
    {"add_from_c": "C", "add_to_c": "C", "wait_min": "min"},
)
WAY = "way"


def read_process(table: Table, reader: Reader, stages: Iterable[str]) -> Owned[Way]:
    """One way by owner, under the key `WAY`."""
    owned: Owned[Way] = Owned()
    known = frozenset(stages)
    for row in table.rows:
        if row.broken:
            continue
        cells = Cells(row, row["ingredient"] or "row", COLUMNS, reader.findings, reader.names.decimal)
        owner = read_owner(cells, reader)
        way = _way(cells, reader, known)
        if owner is None or way is None:
            continue
        first = owned.first_line(owner, WAY)
        if first is not None:
            cells.add("ingredient", "one way of adding", f"another on line {first}", "remove one")
            continue
        owned.put(owner, WAY, way, row.line)
    return owned


def _way(cells: Cells, reader: Reader, stages: frozenset[str]) -> Way | None:
    row, findings = cells.row, reader.findings
    before = len(findings.problems)
    stage, add_as = cells.text("stage", needed=True), cells.text("add_as", needed=True)
    if stage:
        findings.word(row.line, cells.entry, stage, stages, "a stage", row.cell("stage"))
    for name in ("carried_by", "needs"):
        if row[name]:
            reader.selector_text(row[name], row.line, cells.entry, row.cell(name))
    ratio = cells.number("carried_ratio")
    if row["carried_ratio"] and not row["carried_by"]:
        cells.add("carried_by", "what carries it, beside carried_ratio", "an empty cell")
    lowest, highest = cells.number("add_from_c", high=200), cells.number("add_to_c", high=200)
    if lowest is not None and highest is not None and lowest > highest:
        cells.add(
            "add_from_c",
            "add_from_C of at most add_to_C",
            f"{row['add_from_c']} above {row['add_to_c']}",
            "swap them",
        )
    wait = cells.number("wait_min")
    if len(findings.problems) > before:
        return None
    return Way(
        stage, add_as, row["carried_by"], ratio, lowest, highest, wait, row["needs"], several(row["wear"])
    )
