"""properties.csv: numbers of ingredients, each with its spread, unit and source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType

from optimiser.domain.ingredient import Figure, Status
from optimiser.domain.vocabulary import Property
from optimiser.loading.cells import Cells
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.owners import Owned, read_owner
from optimiser.loading.tables import Columns, Table

COLUMNS = Columns(("ingredient", "property", "unit", "source"), ("value", "low", "high"))
WIDER = (Fraction(4, 5), Fraction(5, 4))
SOURCES: tuple[tuple[str, Status], ...] = (
    ("published", "published"),
    ("supplier", "published"),
    ("memory", "memory"),
    ("common practice", "common practice"),
    ("invented", "invented"),
    ("assumed", "assumed"),
    ("measured", "measured"),
    ("trial", "measured"),
    ("by nature", "by nature"),
)


def status_of(source: str) -> Status | None:
    """How far a number can be trusted, from the first words of its source."""
    plain = source.casefold()
    return next((status for start, status in SOURCES if plain.startswith(start)), None)


def read_properties(table: Table, reader: Reader, properties: Mapping[str, Property]) -> Owned[Figure]:
    """Figures by owner and property."""
    owned: Owned[Figure] = Owned()
    for row in table.rows:
        if not row.broken:
            cells = Cells(row, row["ingredient"] or "row", COLUMNS, reader.findings, reader.names.decimal)
            _read(cells, owned, reader, properties)
    return owned


def _read(cells: Cells, owned: Owned[Figure], reader: Reader, properties: Mapping[str, Property]) -> None:
    owner = read_owner(cells, reader)
    name = cells.text("property", needed=True)
    source = cells.text("source", needed=True)
    status = status_of(source)
    if source and status is None:
        cells.add(
            "source",
            "a source that begins with " + ", ".join(start for start, _ in SOURCES),
            shown(source),
            'such as "supplier: sheet of 2026-03"',
        )
    where = cells.row.cell("property")
    if not name or not reader.findings.word(
        cells.row.line, cells.entry, name, properties, "a property", where
    ):
        return
    meant = properties[name]
    if cells.row["unit"] != meant.unit:
        cells.add(
            "unit", f"the unit {meant.unit}", shown(cells.row["unit"]), f"give the number in {meant.unit}"
        )
        return
    spread = cells.spread("value", unit=meant.unit)
    if spread is None or owner is None or status is None:
        return
    if not meant.low <= spread.low <= spread.high <= meant.high:
        ends = shown(
            " to ".join(
                dict.fromkeys(filter(None, (cells.row["low"] or cells.row["value"], cells.row["high"])))
            )
        )
        cells.add("value", f"{name} from {meant.low} to {meant.high} {meant.unit}", ends)
        return
    if (first := owned.first_line(owner, name)) is not None:
        cells.add("property", f"one row for {name}", f"another on line {first}", "remove one")
        return
    owned.put(
        owner, name, Figure(spread.value, spread.low, spread.high, meant.unit, source, status), cells.row.line
    )


def by_nature(kind: str, group: str, properties: Mapping[str, Property]) -> dict[str, Figure]:
    """The true zeros of a kind, such as the water in an oil."""
    words = {f"kind:{kind}", f"group:{group}"}
    zero = Fraction(0)
    return {
        name: Figure(zero, zero, zero, meant.unit, f"by nature of {kind}", "by nature")
        for name, meant in properties.items()
        if words & set(meant.zero_for)
    }


def borrowed(
    figures: Mapping[str, Figure], lender: str, properties: Mapping[str, Property]
) -> Mapping[str, Figure]:
    """The lender's figures, spread widened a fifth down and a quarter up inside the property's bounds."""
    down, up = WIDER
    return MappingProxyType(
        {
            name: replace(
                figure,
                low=max(figure.low * down, properties[name].low),
                high=min(figure.high * up, properties[name].high),
                source=f"borrowed from {lender}, widened to 0.8 of low and 1.25 of high: {figure.source}",
                status="borrowed",
            )
            for name, figure in figures.items()
        }
    )
