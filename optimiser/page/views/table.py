"""The table of ingredients as screens show it: a list to look through, and what uses an ingredient."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.worktable import Worktable
from optimiser.loading.places import ID
from optimiser.loading.tables import several
from optimiser.page.views.figures import DASH, Figures
from optimiser.problems import Problem
from optimiser.workflows.table import FILE, TableFile

A_PAGE = 50
ORDERS = {"name": ("name", "id"), "kind": ("kind", "name", "id")}
"""Orders of the list beside that of the file, by the columns they go by."""


@dataclass(frozen=True, slots=True)
class RowListed:
    id: str
    name: str
    kind: str
    roles: str
    use: str
    pack: str
    faults: int
    opens: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list is narrowed to, its order (of the file, or one of ORDERS), and the page of it from 1."""

    text: str = ""
    role: str = ""
    flag: str = ""
    page: int = 1
    order: str = ""

    @property
    def narrowed(self) -> bool:
        return bool(self.text or self.role or self.flag)


@dataclass(frozen=True, slots=True)
class Listed:
    """One page of the list. `found` of `all` rows fit what is asked."""

    rows: tuple[RowListed, ...]
    found: int
    all: int
    page: int
    pages: int
    roles: tuple[str, ...]
    flags: tuple[str, ...]


def listed(
    table: TableFile, worktable: Worktable | None, problems: Iterable[Problem], asked: Asked, currency: str
) -> Listed:
    """The rows that fit, in the order asked for; rows that are alike in it stay as in the file."""
    sheet = table.sheet
    faults: dict[int, int] = {}
    for one in problems:
        if one.file == FILE and one.line is not None:
            faults[one.line] = faults.get(one.line, 0) + 1
    known = worktable.ingredients if worktable else {}
    rows = [(record.line, sheet.cells(record)) for record in sheet.rows]
    fitting = [(line, cells) for line, cells in rows if _fits(cells, asked, known)]
    if asked.order in ORDERS:
        fitting.sort(
            key=lambda row: tuple(row[1].get(column, "").casefold() for column in ORDERS[asked.order])
        )
    pages = max(1, -(-len(fitting) // A_PAGE))
    page = min(max(1, asked.page), pages)
    part = fitting[(page - 1) * A_PAGE : page * A_PAGE]
    return Listed(
        tuple(_row(cells, faults.get(line, 0), currency) for line, cells in part),
        len(fitting),
        len(rows),
        page,
        pages,
        tuple(sorted({role for _, cells in rows for role in several(cells.get("roles", ""))})),
        tuple(
            sorted(
                {name for one in known.values() for name, state in one.flags.items() if state == "contains"}
            )
        ),
    )


def _fits(cells: Mapping[str, str], asked: Asked, known: Mapping[str, Ingredient]) -> bool:
    if asked.role and asked.role not in several(cells.get("roles", "")):
        return False
    if asked.flag:
        own = known.get(cells.get("id", ""))
        if own is None or own.flag(asked.flag) != "contains":
            return False
    text = " ".join(cells.values()).casefold()
    return all(word in text for word in asked.text.casefold().split())


def _row(cells: Mapping[str, str], faults: int, currency: str) -> RowListed:
    least, most = cells.get("use_min", ""), cells.get("use_max", "")
    use = f"{least or '0'} to {most or '100'} %" if least or most else DASH
    name, price = cells.get("id", ""), cells.get("pack_price", "")
    return RowListed(
        name,
        cells.get("name", "") or name or "a row without a name",
        cells.get("kind", ""),
        ", ".join(several(cells.get("roles", ""))),
        use,
        ", ".join(filter(None, (cells.get("pack_size", ""), price and f"{price} {currency}"))) or DASH,
        faults,
        bool(ID.fullmatch(name)),
    )


def uses(worktable: Worktable, name: str, figures: Figures) -> tuple[tuple[str, str, str], ...]:
    """(id, name, how much in which phase) of every formula that has it."""
    found = []
    for formula in sorted(worktable.formulas.values(), key=lambda one: one.name.casefold()):
        shares = [
            f"{figures.short(line.percent)} % in phase {phase}"
            for phase, line in formula.lines
            if line.ingredient == name
        ]
        if shares:
            found.append((formula.id, formula.name, ", ".join(shares)))
    return tuple(found)
