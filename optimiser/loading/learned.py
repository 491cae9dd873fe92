"""learned.csv: numbers learned from trials, each a dated row; the newest that fits the lot in use counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from types import MappingProxyType

from optimiser.domain.ingredient import Figure, Ingredient, Place
from optimiser.domain.learned import Learned
from optimiser.domain.vocabulary import Property
from optimiser.domain.worktable import Lot
from optimiser.loading.cells import Cells
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.properties import status_of
from optimiser.loading.tables import Columns, Row, Table

COLUMNS = Columns(("date", "ingredient", "property", "unit", "source"), ("lot", "value", "low", "high"))
HEADER = "date,ingredient,lot,property,value,low,high,unit,source\n"
LEARNED = ("measured",)


def read_learned(table: Table, reader: Reader, properties: Mapping[str, Property]) -> tuple[Learned, ...]:
    """The rows in the order written."""
    found = (_read(row, table, reader, properties) for row in table.rows if not row.broken)
    return tuple(one for one in found if one is not None)


def _read(row: Row, table: Table, reader: Reader, properties: Mapping[str, Property]) -> Learned | None:
    cells = Cells(row, row["ingredient"] or "row", COLUMNS, reader.findings, reader.names.decimal)
    before = len(reader.findings.problems)
    word, name = cells.text("ingredient", needed=True), cells.text("property", needed=True)
    source = cells.text("source", needed=True)
    owner = reader.ingredient(word, row.line, cells.entry, row.cell("ingredient")) if word else None
    if not cells.text("date", needed=True) or (day := cells.day("date")) is None:
        return None
    if source and status_of(source) not in LEARNED:
        cells.add("source", "a source that begins with trial or measured", shown(source))
    if not name or not reader.findings.word(
        row.line, cells.entry, name, properties, "a property", row.cell("property")
    ):
        return None
    meant = properties[name]
    if row["unit"] != meant.unit:
        cells.add("unit", f"the unit {meant.unit}", shown(row["unit"]))
    spread = cells.spread("value", unit=meant.unit)
    if spread is not None and not meant.low <= spread.low <= spread.high <= meant.high:
        cells.add("value", f"{name} from {meant.low} to {meant.high} {meant.unit}", shown(row["value"]))
    if spread is None or owner is None or len(reader.findings.problems) > before:
        return None
    figure = Figure(spread.value, spread.low, spread.high, meant.unit, source, "measured")
    return Learned(day, owner, row["lot"], name, figure, place=Place(table.file, row.line))


def apply_learned(
    ingredients: Mapping[str, Ingredient], rows: Iterable[Learned], shelf: tuple[Lot, ...], today: date
) -> tuple[Mapping[str, Ingredient], tuple[Learned, ...]]:
    """Ingredients with the rows that count in the place of the table's numbers; and the rows, told so.

    The newest row counts (of one day the last), among those of the lot that is used next, or of no lot; where
    no lot of the ingredient is on the shelf, among all. Rows of an ingredient that could not be read are left
    out.
    """
    told = tuple(row for row in rows if row.ingredient in ingredients)
    newest: dict[tuple[str, str], Learned] = {}
    for row in sorted(told, key=lambda one: one.day):
        lot = next_lot(shelf, row.ingredient, today)
        if lot is None or row.lot in ("", lot):
            newest[row.ingredient, row.what] = row
    found = dict(ingredients)
    for (name, what), row in newest.items():
        one = found[name]
        found[name] = replace(
            one, figures=MappingProxyType(dict(sorted({**one.figures, what: row.figure}.items())))
        )
    counting = set(map(id, newest.values()))
    marked = (
        replace(row, counts=id(row) in counting, was=ingredients[row.ingredient].figure(row.what))
        for row in told
    )
    return MappingProxyType(found), tuple(marked)


def next_lot(shelf: Iterable[Lot], ingredient: str, today: date) -> str | None:
    """The lot that is used next: the first to expire, then the longest open; None where there is none."""
    usable = [
        lot
        for lot in shelf
        if lot.ingredient == ingredient and lot.grams > 0 and (lot.expires is None or lot.expires >= today)
    ]
    turns = sorted((lot.expires or date.max, lot.opened or date.max, lot.lot) for lot in usable)
    return turns[0][2] if turns else None
