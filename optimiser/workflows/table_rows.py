"""The rows of a table that hold for one ingredient: its own, and those it has from its kind or group."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.domain.vocabulary import Vocabulary
from optimiser.loading.csv_spans import Record
from optimiser.workflows.table import TableFile, owner_of


@dataclass(frozen=True, slots=True)
class Whose:
    """An ingredient, what it may be called, and of whom it has rows besides its own, the nearest first."""

    id: str
    words: Mapping[str, tuple[str, ...]]
    lenders: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows by what tells them apart. `lent` are those of a kind or group that no nearer row outranks."""

    own: Mapping[str, Record]
    lent: Mapping[str, Record]


def whose(ingredients: TableFile, name: str, vocabulary: Vocabulary) -> Whose:
    """The ingredient with this id, which has a row in the table."""
    row = ingredients.row(name)
    kind = ingredients.sheet.cell(row, "kind") if row else ""
    known = vocabulary.kinds.get(kind)
    lenders = (f"kind:{kind}", f"group:{known.group}") if known else ()
    return Whose(name, ingredients.words, lenders)


def rows_of(table: TableFile, owner: Whose) -> Rows:
    """The rows of a table that hold for the ingredient."""
    own = {name: row for name, row in table.rows.items() if owner_of(table, row, owner.words) == owner.id}
    taken = {_about(table, row) for row in own.values()}
    lent: dict[str, Record] = {}
    for lender in owner.lenders:
        nearer = set(taken)
        for name, row in table.rows.items():
            if _lender(table.sheet.cell(row, "ingredient")) == lender and _about(table, row) not in nearer:
                lent[name] = row
                taken.add(_about(table, row))
    return Rows(own, lent)


def _about(table: TableFile, row: Record) -> tuple[str, ...]:
    """What the row says something of, such as a flag."""
    return tuple(table.sheet.cell(row, key) for key in table.described.keys[1:])


def _lender(text: str) -> str:
    """`kind:clay` from "kind: clay"."""
    level, _, name = text.partition(":")
    return f"{level}:{name.strip()}"
