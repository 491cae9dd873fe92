"""The words a table may use: kinds, roles, flags, stages and properties, each with its meaning."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Carried = Literal["share", "level", "line", "none"]
Holds = Literal["must", "range"]
CompositionNeed = Literal["single", "required"]
Summing = Literal["yes", "level", "no"]


@dataclass(frozen=True, slots=True)
class Kind:
    """What an ingredient is.

    `carried` tells how a formula without targets holds on to the kind; `holds` whether the supplier's range
    binds ("must") or may be left with a reason ("range"). With `composition` "single" an ingredient without
    composition rows is 100 % of its INCI name; with "required" it is unknown. `water_free` says whether it
    can carry a gum or stand in a product without water.
    """

    name: str
    group: str
    meaning: str
    carried: Carried
    holds: Holds
    composition: CompositionNeed
    water_free: bool


@dataclass(frozen=True, slots=True)
class PropertyMeaning:
    """A number an ingredient may have, in `unit`, between `low` and `high`. A maker calls it by its `title`.

    `zero_for` holds selectors such as "group:oil" for which a missing number is a true zero; `sum` tells
    whether it adds up over a formula, adds up to a level, or does not add up.
    """

    name: str
    title: str
    unit: str
    low: Fraction
    high: Fraction
    zero_for: tuple[str, ...]
    sum: Summing
    meaning: str


Property = PropertyMeaning
UNIT_WORDS: Mapping[str, str] = {"-": "", "C": "°C"}


def unit_words(unit: str) -> str:
    """How a unit of the tables is read: nothing for a pure number."""
    return UNIT_WORDS.get(unit, unit)


@dataclass(frozen=True, slots=True)
class Stage:
    """When something is added; stages run by `order`."""

    name: str
    order: int
    title: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every known word by its name, in the order of the files."""

    kinds: Mapping[str, Kind]
    roles: Mapping[str, str]
    flags: Mapping[str, str]
    stages: Mapping[str, Stage]
    properties: Mapping[str, PropertyMeaning]

    @property
    def groups(self) -> tuple[str, ...]:
        """Groups of kinds, each once, in the order of the kinds."""
        return tuple(dict.fromkeys(kind.group for kind in self.kinds.values()))
