"""A number learned from trials: a dated row of `learned.csv`, never written over."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from optimiser.domain.ingredient import Figure, Place

_TRIALS = re.compile(r"trial ([^,;]+)")
BETWEEN = " + "
TAUGHT: Mapping[str, str] = MappingProxyType(
    {
        "buffer_slope": "buffering of {}",
        "powder_ph": "own pH of {}",
        "viscosity_1pct": "strength of {}",
        "viscosity_power": "growth with the dose of {}",
        "water_held": "water held by {}",
        "packing_max": "packing of {}",
        "density": "density of {}",
        "solids": "solids of {}",
        "water_content": "water in {}",
        "hlb_needed": "HLB that {} asks for",
    }
)
"""What readings may teach, by property, in words with the ingredient's name to be filled in."""


def in_words(what: str, ingredient: str) -> str:
    """`buffering of Kaolin, white`; of what readings do not teach the name of the property itself."""
    return TAUGHT.get(what, f"{what.replace('_', ' ')} of {{}}").format(ingredient)


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
