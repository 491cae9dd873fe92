"""clashes.csv: pairs that do not go together, and when."""

from __future__ import annotations

import re
from typing import Literal

from optimiser.domain.ingredient import Place
from optimiser.domain.worktable import ClashRow, Condition
from optimiser.loading.cells import Cells
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.tables import Columns, Table
from optimiser.units.numbers import NumberFault, read_number

COLUMNS = Columns(("id", "a", "b", "strength", "why", "source"), ("when",))
Strength = Literal["must", "should", "note"]
STRENGTHS: tuple[Strength, ...] = ("must", "should", "note")
Sign = Literal["=", "!=", "<", "<=", ">", ">="]
SIGNS: tuple[Sign, ...] = ("!=", "<=", ">=", "=", "<", ">")
WORDS = ("use", "area", "age", "form", "water")
NUMBERS = ("ph_low", "ph_high")
_CONDITION = re.compile(r"([a-z_]+)\s*(!=|<=|>=|=|<|>)\s*(\S.*)")


def read_clashes(table: Table, reader: Reader) -> tuple[ClashRow, ...]:
    """The rows in the order written."""
    found: dict[str, ClashRow] = {}
    for row in table.rows:
        if row.broken:
            continue
        cells = Cells(row, row["id"] or "row", COLUMNS, reader.findings, reader.names.decimal)
        clash = _clash(cells, reader)
        if clash is None:
            continue
        if clash.id in found:
            cells.add(
                "id", "each id once", f"{shown(clash.id)} again (first on line {found[clash.id].place.line})"
            )
            continue
        found[clash.id] = clash
    return tuple(found.values())


def _clash(cells: Cells, reader: Reader) -> ClashRow | None:
    row = cells.row
    before = len(reader.findings.problems)
    identifier = cells.identifier("id")
    sides = [
        reader.selector_text(row[side], row.line, cells.entry, row.cell(side))
        if cells.text(side, needed=True)
        else None
        for side in ("a", "b")
    ]
    text = cells.text("strength", needed=True)
    if text:
        reader.findings.word(row.line, cells.entry, text, STRENGTHS, "a strength", row.cell("strength"))
    strength = next((one for one in STRENGTHS if one == text), None)
    why, source = cells.text("why", needed=True), cells.text("source", needed=True)
    when = tuple(_condition(part, cells) for part in row["when"].split(" and ")) if row["when"] else ()
    if len(reader.findings.problems) > before or identifier is None or strength is None:
        return None
    a, b = sides
    if a is None or b is None:
        return None
    place = Place(reader.findings.file, row.line)
    return ClashRow(identifier, a, b, tuple(one for one in when if one), strength, why, source, place)


def _condition(text: str, cells: Cells) -> Condition | None:
    found = _CONDITION.fullmatch(text.strip())
    shape = "conditions such as use=leave-on and ph_high<6"
    if found is None:
        cells.add("when", shape, shown(text))
        return None
    fact, value = found[1], found[3].strip()
    sign = next(one for one in SIGNS if one == found[2])
    if not cells.findings.word(
        cells.row.line, cells.entry, fact, WORDS + NUMBERS, "a fact", cells.row.cell("when")
    ):
        return None
    if fact in NUMBERS:
        number = read_number(value, decimal=cells.decimal)
        if isinstance(number, NumberFault):
            cells.add("when", f"a number after {fact}", shown(value), number.fix)
            return None
        return Condition(fact, sign, str(number) if number.denominator == 1 else value.replace(",", "."))
    if sign not in ("=", "!="):
        cells.add("when", f"= or != after {fact}", shown(sign))
        return None
    if fact == "water" and value not in ("yes", "no"):
        cells.add("when", "yes or no after water", shown(value))
        return None
    return Condition(fact, sign, value)
