"""The last answer, at which rows that are not linear by nature are written again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Incumbent:
    """`shares` in % w/w by ingredient: what is not linear (powders, glycerol, salt) is taken from there.

    `ionic` writes predicted pH windows at one ionic strength (mol/kg) instead of three with a cap.
    """

    shares: Mapping[str, Fraction]
    ionic: Fraction | None = None
