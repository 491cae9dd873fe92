"""Rows that speak of an ingredient, a kind or a group: the ingredient's own row wins, then the kind's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Generic, Literal, TypeVar

from optimiser.loading.cells import Cells
from optimiser.loading.names import Reader

Level = Literal["ingredient", "kind", "group"]
KINDS_OR_GROUPS: tuple[Level, ...] = ("kind", "group")
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Owner:
    """What a row speaks of."""

    level: Level
    name: str

    def __str__(self) -> str:
        return self.name if self.level == "ingredient" else f"{self.level}:{self.name}"


def read_owner(cells: Cells, reader: Reader) -> Owner | None:
    """The owner named in the column `ingredient`: an id, `kind:x` or `group:x`."""
    text = cells.text("ingredient", needed=True)
    if not text:
        return None
    where = cells.row.cell("ingredient")
    for level in KINDS_OR_GROUPS:
        if text.startswith(f"{level}:"):
            known = frozenset(reader.names.groups_of) if level == "kind" else reader.names.groups
            name = text.partition(":")[2].strip()
            found = cells.findings.word(cells.row.line, cells.entry, name, known, f"a {level}", where)
            return Owner(level, name) if found else None
    found_id = reader.ingredient(text, cells.row.line, cells.entry, where)
    return Owner("ingredient", found_id) if found_id else None


@dataclass(slots=True)
class Owned(Generic[T]):
    """Values by owner and key, each pair once."""

    values: dict[Owner, dict[str, T]] = field(default_factory=dict)
    lines: dict[tuple[Owner, str], int] = field(default_factory=dict)

    def first_line(self, owner: Owner, key: str) -> int | None:
        return self.lines.get((owner, key))

    def put(self, owner: Owner, key: str, value: T, line: int) -> None:
        self.values.setdefault(owner, {})[key] = value
        self.lines[owner, key] = line

    def of(self, ingredient: str, kind: str, group: str) -> Mapping[str, T]:
        """All keys that hold for an ingredient: its own outrank the kind's, those the group's."""
        if not self.values:
            return {}
        owners = Owner("group", group), Owner("kind", kind), Owner("ingredient", ingredient)
        merged: dict[str, T] = {}
        for owner in owners:
            merged.update(self.values.get(owner, {}))
        return merged
