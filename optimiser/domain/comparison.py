"""Two formulas set side by side."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two: its id or file, its name, what was asked, its share by group in % (largest first)."""

    id: str
    name: str
    asked: str = ""
    groups: tuple[tuple[str, Fraction], ...] = ()


@dataclass(frozen=True, slots=True)
class LinePair:
    """One ingredient over all its lines, in % w/w of either; 0 where it is not there.

    `dosed` tells that its share is a ceiling in one of them.
    """

    ingredient: str
    name: str
    first: Fraction
    second: Fraction
    dosed: bool = False

    @property
    def moved(self) -> Fraction:
        return self.second - self.first


@dataclass(frozen=True, slots=True)
class MeasurePair:
    """A number that one or both have, in `unit`; None where it is not known."""

    name: str
    unit: str
    first: Fraction | None
    second: Fraction | None


@dataclass(frozen=True, slots=True)
class RulePair:
    """A must as each side keeps it by its own limits: None where that side has no such rule."""

    sentence: str
    first: bool | None
    second: bool | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """All that is apart between two formulas; `lines` and `measures` hold what is alike too.

    `rules` are those that one side breaks. `label` names what the label would have to change.
    """

    first: Side
    second: Side
    lines: tuple[LinePair, ...]
    measures: tuple[MeasurePair, ...]
    rules: tuple[RulePair, ...]
    label: tuple[str, ...]

    @property
    def apart(self) -> tuple[LinePair, ...]:
        """Lines that differ, the largest difference first."""
        moved = (pair for pair in self.lines if pair.moved)
        return tuple(sorted(moved, key=lambda pair: (-abs(pair.moved), pair.ingredient)))

    @property
    def moved(self) -> Fraction:
        """Half the sum of all differences: how many points of the formula are another ingredient now."""
        return sum((abs(pair.moved) for pair in self.lines), Fraction(0)) / 2
