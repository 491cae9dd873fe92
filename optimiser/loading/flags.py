"""flags.csv: what someone may want to avoid, in three states."""

from __future__ import annotations

from optimiser.domain.ingredient import FlagState
from optimiser.loading.cells import Cells
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.owners import Owned, read_owner
from optimiser.loading.tables import Columns, Table

COLUMNS = Columns(("ingredient", "flag", "state", "source"), ("date",))
STATES: tuple[FlagState, ...] = ("contains", "free", "unknown")


def read_flags(table: Table, reader: Reader) -> Owned[FlagState]:
    """States by owner and flag."""
    owned: Owned[FlagState] = Owned()
    for row in table.rows:
        if not row.broken:
            _read(
                Cells(row, row["ingredient"] or "row", COLUMNS, reader.findings, reader.names.decimal),
                owned,
                reader,
            )
    return owned


def _read(cells: Cells, owned: Owned[FlagState], reader: Reader) -> None:
    line, findings = cells.row.line, reader.findings
    owner = read_owner(cells, reader)
    flag, text = cells.text("flag", needed=True), cells.text("state", needed=True)
    cells.text("source", needed=text not in ("", "unknown"))
    cells.day("date")
    flag_known = bool(flag) and findings.word(
        line, cells.entry, flag, reader.names.flags, "a flag", cells.row.cell("flag")
    )
    state_known = bool(text) and findings.word(
        line, cells.entry, text, STATES, "a state", cells.row.cell("state")
    )
    state = next((one for one in STATES if one == text), None)
    if owner is None or not flag_known or not state_known or state is None:
        return
    first = owned.first_line(owner, flag)
    if first is not None:
        before = owned.values[owner][flag]
        found = f"{state} here" + (
            f", {before} on line {first}" if before != state else f" and on line {first}"
        )
        cells.add("state", f"one state of {shown(flag)}", found, "keep the row that its paper bears out")
        return
    owned.put(owner, flag, state, line)
