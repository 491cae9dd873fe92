"""What is wished of a table, and what changed in a file: rows by name, cells by column."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Kind = Literal["new", "gone", "changed"]


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wished of the row called `name`: `cells` to set, by column.

    Where no row is called so, one is made of `whole` (of `cells` where that is empty). `fresh` makes a row of
    its own even where one is called so; `gone` takes the row out. `line` is where the wish was read.
    """

    name: str
    cells: Mapping[str, str] = field(default_factory=dict)
    whole: Mapping[str, str] = field(default_factory=dict)
    fresh: bool = False
    gone: bool = False
    line: int | None = None


@dataclass(frozen=True, slots=True)
class CellChange:
    """A cell as it was and as it is; empty text where there was or is nothing."""

    column: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class RowChange:
    """A row that came, went or changed; `line` counts in the file as it is, for a row that went as it was."""

    kind: Kind
    name: str
    line: int | None
    cells: tuple[CellChange, ...] = ()


@dataclass(frozen=True, slots=True)
class FileChange:
    """A file that came, went or changed. `rows` of a table; `lines` of other text, each with its + or -.

    Neither is filled where only marks between the cells changed, or where the file cannot be read.
    """

    file: str
    kind: Kind
    rows: tuple[RowChange, ...] = ()
    lines: tuple[str, ...] = ()

    def count(self, kind: Kind) -> int:
        return sum(row.kind == kind for row in self.rows)
