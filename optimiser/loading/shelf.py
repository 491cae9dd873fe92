"""shelf.csv: what is there."""

from __future__ import annotations

from optimiser.domain.worktable import Lot
from optimiser.loading.cells import Cells
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.tables import Columns, Table, several
from optimiser.units.quantities import read_amount

COLUMNS = Columns(("ingredient", "lot", "amount"), ("unit_price", "opened", "expires", "papers"))


def read_shelf(table: Table, reader: Reader) -> tuple[Lot, ...]:
    """The lots in the order written."""
    found: list[Lot] = []
    first: dict[tuple[str, str], int] = {}
    for row in table.rows:
        if row.broken:
            continue
        cells = Cells(row, row["ingredient"] or "row", COLUMNS, reader.findings, reader.names.decimal)
        lot = _lot(cells, reader)
        if lot is None:
            continue
        key = (lot.ingredient, lot.lot)
        if key in first:
            cells.add(
                "lot",
                "each lot of an ingredient once",
                f"{shown(lot.lot)} again (first on line {first[key]})",
            )
            continue
        first[key] = row.line
        found.append(lot)
    return tuple(found)


def _lot(cells: Cells, reader: Reader) -> Lot | None:
    row = cells.row
    before = len(reader.findings.problems)
    word = cells.text("ingredient", needed=True)
    name = reader.ingredient(word, row.line, cells.entry, row.cell("ingredient")) if word else None
    lot, amount = cells.text("lot", needed=True), cells.text("amount", needed=True)
    grams = None
    if amount:
        density = reader.names.densities.get(name or "")
        read = read_amount(amount, reader.names.decimal, density=density)
        grams = reader.findings.number(row.line, cells.entry, read, row.cell("amount"))
    price = cells.number("unit_price")
    opened, expires = cells.day("opened"), cells.day("expires")
    if opened and expires and expires < opened:
        cells.add("expires", "a date after opened", shown(row["expires"]))
    if len(reader.findings.problems) > before or name is None or grams is None:
        return None
    return Lot(name, lot, grams, price, opened, expires, several(row["papers"]))
