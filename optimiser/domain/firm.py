"""Firmness: for how much of what the data leave open a proposal has to hold."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Firm:
    """Every rule holds while at most `off_at_once` of its numbers stand at their worst, the others at their
    middle; None: at every value in the data. A part of a number goes its part of the way.
    """

    off_at_once: Fraction | None = None
