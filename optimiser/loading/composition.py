"""composition.csv: the substances in an ingredient, in % w/w."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.domain.ingredient import Part
from optimiser.loading.cells import Cells
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader, plain
from optimiser.loading.tables import Columns, Table
from optimiser.units.numbers import show_number

COLUMNS = Columns(
    ("ingredient", "substance", "source"), ("share", "low", "high"), {"share": "%", "low": "%", "high": "%"}
)


def read_composition(table: Table, reader: Reader) -> Mapping[str, tuple[Part, ...]]:
    """Parts by ingredient id, in the order written."""
    found: dict[str, list[tuple[Part, int]]] = {}
    for row in table.rows:
        if row.broken:
            continue
        cells = Cells(row, row["ingredient"] or "row", COLUMNS, reader.findings, reader.names.decimal)
        word = cells.text("ingredient", needed=True)
        owner = reader.ingredient(word, row.line, cells.entry, row.cell("ingredient")) if word else None
        part = _part(cells)
        if owner is None or part is None:
            continue
        twin = next(
            (line for other, line in found.get(owner, ()) if plain(other.substance) == plain(part.substance)),
            None,
        )
        if twin is not None:
            cells.add(
                "substance", "each substance once", f"{shown(part.substance)} again (first on line {twin})"
            )
            continue
        found.setdefault(owner, []).append((part, row.line))
    for owner, parts in found.items():
        _refuse_overfull(owner, parts, reader)
    return {owner: tuple(part for part, _ in parts) for owner, parts in found.items()}


def _part(cells: Cells) -> Part | None:
    substance = cells.text("substance", needed=True)
    source = cells.text("source", needed=True)
    spread = cells.spread("share", unit="%", high=100)
    return Part(substance, spread.value, spread.low, spread.high, source) if substance and spread else None


def _refuse_overfull(owner: str, parts: list[tuple[Part, int]], reader: Reader) -> None:
    total = sum((part.value for part, _ in parts), Fraction(0))
    if total > 100:
        reader.findings.add(
            parts[-1][1],
            owner,
            "shares that sum to at most 100 %",
            f"{show_number(total)} %",
            "the middle values count",
            "share",
        )
