"""The tables of a worktable: their file, their columns, and what tells the rows of one apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from optimiser.loading import clashes, composition, flags, ingredients, learned, process, properties, shelf
from optimiser.loading.substances import COLUMNS as SUBSTANCES
from optimiser.loading.tables import Columns


@dataclass(frozen=True, slots=True)
class Described:
    """A table. `keys` are the columns that tell its rows apart; `header` is the first line of a new file."""

    name: str
    columns: Columns
    keys: tuple[str, ...]
    header: tuple[str, ...] = ()

    @property
    def file(self) -> str:
        return f"{self.name}.csv"


def _tables(*tables: Described) -> Mapping[str, Described]:
    return MappingProxyType({one.name: one for one in tables})


FLAGS = Described(
    "flags", flags.COLUMNS, ("ingredient", "flag"), ("ingredient", "flag", "state", "source", "date")
)
PROPERTIES = Described(
    "properties",
    properties.COLUMNS,
    ("ingredient", "property"),
    ("ingredient", "property", "value", "low", "high", "unit", "source"),
)
COMPOSITION = Described(
    "composition",
    composition.COLUMNS,
    ("ingredient", "substance"),
    ("ingredient", "substance", "share [%]", "low", "high", "source"),
)
PROCESS = Described(
    "process",
    process.COLUMNS,
    ("ingredient",),
    (
        "ingredient",
        "stage",
        "add_as",
        "carried_by",
        "carried_ratio",
        "add_from_C",
        "add_to_C",
        "wait_min",
        "needs",
        "wear",
    ),
)
SHELF = Described(
    "shelf",
    shelf.COLUMNS,
    ("ingredient", "lot"),
    ("ingredient", "lot", "amount", "unit_price", "opened", "expires", "papers"),
)
INGREDIENTS = Described("ingredients", ingredients.COLUMNS, ("id",))
TABLES = _tables(
    INGREDIENTS,
    FLAGS,
    PROPERTIES,
    COMPOSITION,
    PROCESS,
    SHELF,
    Described("clashes", clashes.COLUMNS, ("id",)),
    Described("substances", SUBSTANCES, ("substance",)),
    Described("learned", learned.COLUMNS, ("date", "ingredient", "lot", "property")),
)
OWNED = _tables(FLAGS, PROPERTIES, COMPOSITION, PROCESS, SHELF)
"""Tables whose rows say something of one ingredient, in the order in which a maker asks for it."""
