"""A trial: what was to be weighed, what was expected, and what was weighed and read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal, get_args

from optimiser.domain.ingredient import Place

What = Literal[
    "weighed",
    "made",
    "read",
    "felt",
    "looked",
    "visit",
    "challenge",
    "photo",
    "remark",
    "accepted",
    "dropped",
    "corrected",
]
WHATS: tuple[What, ...] = get_args(What)


@dataclass(frozen=True, slots=True)
class Planned:
    """One line as it was to be weighed: grams of an ingredient in a phase; `dosed` ones stop at a reading."""

    phase: str
    ingredient: str
    grams: Fraction
    dosed: bool = False
    lot: str = ""


@dataclass(frozen=True, slots=True)
class Expected:
    """What was foretold of one measure when the trial was opened, in `unit`.

    `low` and `high` hold the data's range, `error` the model's own, plus or minus; None where it has none.
    `rate` (1/s) belongs to a thickness.
    """

    measure: str
    value: Fraction
    low: Fraction
    high: Fraction
    unit: str
    error: Fraction | None = None
    rate: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that was written down, by number from 1; never changed, only corrected by a later one.

    `grams` and `lot` speak of an ingredient that was weighed. `measure`, `value` and `unit` are a reading, a
    score, or a setting of the work where `what` is `made`; `spread` is the standard uncertainty in the same
    unit where it was said. `instrument`, `spindle` and `rate` (1/s; `rpm` where only turns are known) belong
    to a thickness. `day` is the calendar day;
    `stored_c`, `light` and `cycles` (freeze and thaw) say how a retained jar stood before a visit.
    `outcome` is what a challenge test said, `path` where a photo lies, `corrects` an earlier entry.
    """

    number: int
    day: date
    what: What
    ingredient: str = ""
    lot: str = ""
    grams: Fraction | None = None
    measure: str = ""
    value: Fraction | None = None
    unit: str = ""
    spread: Fraction | None = None
    at_c: Fraction | None = None
    instrument: str = ""
    spindle: str = ""
    rate: Fraction | None = None
    rpm: Fraction | None = None
    stored_c: Fraction | None = None
    light: str = ""
    cycles: int | None = None
    outcome: str = ""
    path: str = ""
    text: str = ""
    who: str = ""
    corrects: int | None = None
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Trial:
    """One file of `trials/`: `proposal` is a saved file or empty, `formula` an id of the worktable.

    `block` names the day of a plan it belongs to, or is empty.
    """

    id: str
    formula: str
    opened: date
    batch_g: Fraction
    lines: tuple[Planned, ...]
    expected: tuple[Expected, ...] = ()
    proposal: str = ""
    briefs: tuple[str, ...] = ()
    table: str = ""
    entries: tuple[Entry, ...] = ()
    block: str = ""
    place: Place = Place()

    @property
    def counting(self) -> tuple[Entry, ...]:
        """Entries that no later one corrects."""
        gone = {one.corrects for one in self.entries if one.corrects is not None}
        return tuple(one for one in self.entries if one.number not in gone and one.what != "corrected")

    @property
    def weighed(self) -> dict[str, Fraction]:
        """Grams by ingredient, of those that were written down."""
        found: dict[str, Fraction] = {}
        for one in self.counting:
            if one.what == "weighed" and one.grams is not None:
                found[one.ingredient] = found.get(one.ingredient, Fraction(0)) + one.grams
        return found

    @property
    def was_weighed(self) -> bool:
        """Whether anything of it was weighed: what was only opened tells of no jar."""
        return bool(self.weighed)

    @property
    def grams(self) -> dict[str, Fraction]:
        """Grams by ingredient as they were weighed; as they were planned where nothing was written down."""
        planned: dict[str, Fraction] = {}
        for line in self.lines:
            planned[line.ingredient] = planned.get(line.ingredient, Fraction(0)) + line.grams
        return {**planned, **self.weighed}

    @property
    def unweighed_dosed(self) -> dict[str, Fraction]:
        """Grams of lines dosed to a reading that were not written down: `grams` has them at their most."""
        weighed = self.weighed
        found: dict[str, Fraction] = {}
        for line in self.lines:
            if line.dosed and line.ingredient not in weighed:
                found[line.ingredient] = found.get(line.ingredient, Fraction(0)) + line.grams
        return found

    @property
    def state(self) -> str:
        """`open`, `accepted` or `dropped`; the last word counts."""
        words = [one.what for one in self.counting if one.what in ("accepted", "dropped")]
        return words[-1] if words else "open"

    @property
    def made_on(self) -> date:
        """The day its first line was weighed or its first setting told; the day it was opened without one."""
        return min((one.day for one in self.counting if one.what in ("weighed", "made")), default=self.opened)

    @property
    def settings(self) -> dict[str, Entry]:
        """How it was made, by setting; the last word counts."""
        return {one.measure: one for one in self.counting if one.what == "made" and one.value is not None}

    def readings(self, measure: str) -> tuple[Entry, ...]:
        """Readings of the fresh jar for one measure, in the order they were written down."""
        return tuple(one for one in self.counting if one.what == "read" and one.measure == measure)
