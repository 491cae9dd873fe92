"""What a model says of itself: its sources, where it holds, how far it may be off, what settles it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Band:
    """How far a predicted number may be off: shares of the number where `relative`, else in its unit."""

    down: Fraction
    up: Fraction
    relative: bool = True

    def around(self, value: Fraction) -> tuple[Fraction, Fraction]:
        """Least and greatest value that fit the prediction."""
        if self.relative:
            return value * (1 - self.down), value * (1 + self.up)
        return value - self.down, value + self.up


def factor(times: Fraction) -> Band:
    """A band from value / times to value · times."""
    return Band(1 - 1 / times, times - 1)


@dataclass(frozen=True, slots=True)
class Model:
    """One phenomenon. `holds`, `breaks` and `reading` are sentences for people."""

    name: str
    sources: tuple[str, ...]
    holds: str
    breaks: str
    band: Band
    reading: str
