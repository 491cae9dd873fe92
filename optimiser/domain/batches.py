"""A batch that was made: what went in, where the jars went, what was heard of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal

from optimiser.domain.ingredient import Place

EVENTS = ("filled", "kept", "released", "held", "went", "back", "noted", "corrected")
Event = Literal["filled", "kept", "released", "held", "went", "back", "noted", "corrected"]
NOTES = ("complaint", "reaction", "deviation", "remark")
ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class UsedLot:
    """Grams of one lot that went in."""

    ingredient: str
    lot: str
    grams: Fraction


@dataclass(frozen=True, slots=True)
class Happened:
    """One entry, by number from 1. `jars` counts jars, `who` is a buyer, a stall or the one who decided.

    An entry is never changed: `corrects` names an earlier one that does not count any more.
    """

    number: int
    day: date
    what: Event
    jars: int = 0
    holds: str = ""
    who: str = ""
    kind: str = ""
    text: str = ""
    corrects: int | None = None
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Batch:
    """One file of `batches/`. `formula` is an id of the worktable, `proposal` a saved file, if any."""

    id: str
    formula: str
    made: date
    grams: Fraction
    lots: tuple[UsedLot, ...]
    proposal: str = ""
    price_per_jar: Fraction | None = None
    happened: tuple[Happened, ...] = ()
    place: Place = Place()

    @property
    def counting(self) -> tuple[Happened, ...]:
        """Entries that were not corrected away."""
        gone = {one.corrects for one in self.happened if one.corrects is not None}
        return tuple(one for one in self.happened if one.number not in gone)

    def jars(self, what: Event) -> int:
        return sum(one.jars for one in self.counting if one.what == what)

    @property
    def here(self) -> int:
        """Jars that should still be in the house, those kept as samples included."""
        return self.jars("filled") - self.jars("went") + self.jars("back")

    @property
    def state(self) -> str:
        """`held` until it is released; the last word counts."""
        words = [one.what for one in self.counting if one.what in ("released", "held")]
        return words[-1] if words else "held"

    @property
    def went_to(self) -> tuple[tuple[str, int], ...]:
        """Jars out by name, returns taken off; names with none left are not told."""
        found: dict[str, int] = {}
        for one in self.counting:
            if one.what in ("went", "back"):
                found[one.who] = found.get(one.who, 0) + (one.jars if one.what == "went" else -one.jars)
        return tuple(sorted((who, jars) for who, jars in found.items() if jars))
