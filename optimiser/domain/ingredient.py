"""An ingredient: what is bought, what it is made of, what it does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

FlagState = Literal["contains", "free", "unknown"]
Status = Literal[
    "measured", "published", "common practice", "memory", "invented", "borrowed", "assumed", "by nature"
]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a thing stands in the files, for messages."""

    file: str = ""
    line: int | None = None


UNSURE = ("assumed", "memory")
"""How the source of a number begins that nobody looked up: it may shape a proposal, but proves nothing."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with its spread: low <= value <= high, in `unit`, and where it comes from."""

    value: Fraction
    low: Fraction
    high: Fraction
    unit: str
    source: str
    status: Status = "measured"

    @property
    def sure(self) -> bool:
        """Whether a proof may rest on it; what is borrowed is as sure as what was lent."""
        lent = self.source.partition(": ")[2] if self.status == "borrowed" else ""
        return self.status not in UNSURE and not lent.casefold().startswith(UNSURE)


@dataclass(frozen=True, slots=True)
class Part:
    """One substance in an ingredient, in % w/w of the ingredient."""

    substance: str
    value: Fraction
    low: Fraction
    high: Fraction
    source: str = ""

    @property
    def sure(self) -> bool:
        """Whether a proof may rest on its share."""
        return not self.source.casefold().startswith(UNSURE)


@dataclass(frozen=True, slots=True)
class Pack:
    """What is bought at once: grams and the price for it in the worktable's currency."""

    grams: Fraction
    price: Fraction


@dataclass(frozen=True, slots=True)
class Way:
    """The known way of adding an ingredient (one row of process.csv)."""

    stage: str
    add_as: str
    carried_by: str = ""
    carried_ratio: Fraction | None = None
    add_from_c: Fraction | None = None
    add_to_c: Fraction | None = None
    wait_min: Fraction | None = None
    needs: str = ""
    wear: tuple[str, ...] = ()


def _no_flags() -> Mapping[str, FlagState]:
    return MappingProxyType({})


def _no_figures() -> Mapping[str, Figure]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One row of ingredients.csv with all that the other tables say of it.

    `composition` is None when it is not known; `flags` holds only stated ones (a flag without an
    entry is unknown); `figures` holds the numbers that are known, borrowed ones included. `use_min` and
    `use_max` are in % of the formula. `holds` is "must" where the supplier's range binds
    (preservatives, cleansers, acids, actives) and "range" where it may be left with a reason.
    """

    id: str
    name: str
    inci: str
    kind: str
    group: str
    roles: tuple[str, ...]
    form: str = ""
    aliases: tuple[str, ...] = ()
    use_min: Fraction | None = None
    use_max: Fraction | None = None
    supplier: str = ""
    pack: Pack | None = None
    lead_days: int | None = None
    like: str = ""
    notes: str = ""
    holds: Literal["must", "range"] = "range"
    flags: Mapping[str, FlagState] = field(default_factory=_no_flags)
    figures: Mapping[str, Figure] = field(default_factory=_no_figures)
    composition: tuple[Part, ...] | None = None
    way: Way | None = None
    place: Place = Place()

    def flag(self, name: str) -> FlagState:
        return self.flags.get(name, "unknown")

    def figure(self, name: str) -> Figure | None:
        return self.figures.get(name)

    @property
    def price_per_kg(self) -> Fraction | None:
        """Price of one kilogram in the worktable's currency, at the pack's price."""
        return None if self.pack is None else self.pack.price / self.pack.grams * 1000
