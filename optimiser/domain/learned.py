"""A number learned from trials: a dated row of `learned.csv`, never written over."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from optimiser.domain.ingredient import Figure, Place

_TRIALS = re.compile(r"trial ([^,;]+)")
BETWEEN = " + "


@dataclass(frozen=True, slots=True)
class Learned:
    """`figure` of an ingredient as learned on a day; `lot` empty where none was written down.

    `counts` tells that it stands in the place of the table's number, which is kept in `was`.
    """

    day: date
    ingredient: str
    lot: str
    what: str
    figure: Figure
    counts: bool = False
    was: Figure | None = None
    place: Place = Place()

    @property
    def trials(self) -> frozenset[str]:
        """Ids of the trials it was learned from; empty where the source names none."""
        return trials_in(self.figure.source)


def trials_in(source: str) -> frozenset[str]:
    found = _TRIALS.match(source)
    return frozenset(part.strip() for part in found[1].split(BETWEEN)) if found else frozenset()


def source_of(trials: tuple[str, ...], lot: str) -> str:
    """`trial mask-1 + mask-2, lot K-12`."""
    return f"trial {BETWEEN.join(trials)}" + (f", lot {lot}" if lot else "")
