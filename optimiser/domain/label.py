"""What a label says, and the rules of a place for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from optimiser.domain.request import Remark


@dataclass(frozen=True, slots=True)
class LabelRules:
    """How a place wants its labels. Shares in % w/w.

    `tail` is the share below which the order is free; `tail_with` tells whether exactly that share is in it.
    `scent` is the one word for a perfume; `names` are names of the place for INCI names. Above `long_months`
    months the time after opening stands instead of a date; None where the place asks for neither. `also` and
    `before` are to be seen to by hand. `sources` are the sentences behind these, with their source.
    """

    jurisdiction: str
    tail: Fraction
    tail_with: bool
    scent: str
    net_exempt: Fraction | None = None
    long_months: int | None = None
    names: Mapping[str, str] = field(default_factory=dict)
    also: tuple[Remark, ...] = ()
    before: tuple[Remark, ...] = ()
    sources: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Listed:
    """One name of the ingredient list: its share of the batch as added, in % w/w, and over the data's spread.

    `placed` is False where the share is not known and the place in the list has to be settled by hand.
    """

    name: str
    percent: Fraction
    low: Fraction
    high: Fraction
    tail: bool = False
    colourant: bool = False
    allergen: bool = False
    placed: bool = True


@dataclass(frozen=True, slots=True)
class Keeps:
    """How long it keeps in words for the label, how that was come by, and the date where one is known."""

    words: str
    derived: str
    on: date | None = None
    after_opening: int | None = None


@dataclass(frozen=True, slots=True)
class Label:
    """One label. `blanks` are the lines that a person has to fill in; `by_hand` what has to be seen to.

    `rules` are the sentences of the law that order and content follow, each with its source.
    """

    title: str
    use: str
    jurisdiction: str
    ingredients: tuple[Listed, ...]
    net: str
    keeps: Keeps
    batch: str
    directions: str
    warnings: tuple[Remark, ...]
    by_hand: tuple[Remark, ...]
    blanks: tuple[str, ...]
    code: str
    rules: tuple[Remark, ...] = ()

    @property
    def ingredient_list(self) -> str:
        """The list as it is printed."""
        return ", ".join(one.name for one in self.ingredients)
