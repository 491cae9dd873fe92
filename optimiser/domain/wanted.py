"""A rule as it is written in a formula or a brief, before its numbers are settled against the base."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.domain.ingredient import Place
from optimiser.domain.selector import Selector

Topic = Literal[
    "share",
    "level",
    "mean",
    "ratio",
    "ph",
    "covers",
    "reaches_water",
    "thickness",
    "free_liquid",
    "water_activity",
    "frost_proof",
    "powder_volume",
    "buffer",
    "hlb",
    "undissolved",
    "density",
    "allergens",
    "response",
    "cost",
    "newcomers",
    "lines",
    "keep",
]


@dataclass(frozen=True, slots=True)
class Span:
    """A number asked for: limits as written, or a band about the base.

    `within_part` 1/10 is "within 10 % of base"; `within_points` 2 is "within 2 points of base". `low_part`
    and `high_part` bound by a part of the base ("at_least: 90 % of base").
    """

    low: Fraction | None = None
    high: Fraction | None = None
    within_part: Fraction | None = None
    within_points: Fraction | None = None
    low_part: Fraction | None = None
    high_part: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """One entry of `targets:` or `keep:`.

    `of` and `over` are the selectors (ratio has both), `name` the level, property, microbe groups (joined by
    a space) ingredient id or response, per topic. `shear` (1/s) belongs to a thickness,
    `made` (settings of the work, in the unit they were written down in) to a response.
    """

    topic: Topic
    label: str
    span: Span = Span()
    of: Selector | None = None
    over: Selector | None = None
    name: str = ""
    phase: str | None = None
    rank: int | None = None
    surely: bool = False
    shear: Fraction = Fraction(1)
    made: tuple[tuple[str, Fraction], ...] = ()
    why: str = ""
    source: str = ""
    place: Place = Place()
