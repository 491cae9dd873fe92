"""A published limit, as one row a substance, and as one bound over all its substances."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal

Basis = Literal["law", "advice", "label"]
Status = Literal["seen", "memory"]
JURISDICTIONS = ("EU", "UK", "US", "CA")
SOURCE_MARK = "; read in "


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One substance of one limit; the rows of one `limit` are summed in one bound.

    `maximum` is in `unit` of the product as used, counted as `counts_as` by `factor`; None where no figure is
    known or it is no share. An empty `area` or `form` is any; a leading "not" excludes the words after it.
    `age` is "any", "under-N" or "not:under-N" (years). `starts` and `ends` are the first and the last day.
    """

    limit: str
    family: str
    substance: str
    aliases: tuple[str, ...]
    counts_as: str
    factor: Fraction
    jurisdiction: str
    use: str
    area: tuple[str, ...]
    age: str
    form: tuple[str, ...]
    maximum: Fraction | None
    unit: str
    starts: date | None
    ends: date | None
    basis: Basis
    machine: bool
    condition: str
    source: str
    status: Status

    @property
    def instrument(self) -> str:
        """The rule itself, without the place where it was read."""
        return self.source.split(SOURCE_MARK)[0]


@dataclass(frozen=True, slots=True)
class Limit:
    """One bound: the sum of share times factor over the members is at most `maximum` % of the product.

    On a label the maximum is the threshold above which something has to be said.
    """

    id: str
    family: str
    members: tuple[tuple[str, Fraction], ...]
    maximum: Fraction
    basis: Basis
    source: str
    status: Status
    sentence: str


@dataclass(frozen=True, slots=True)
class Picked:
    """What applies to one product: bounds, what must be checked by hand, label thresholds, advice."""

    limits: tuple[Limit, ...] = ()
    by_hand: tuple[LimitRow, ...] = ()
    labels: tuple[Limit, ...] = ()
    advice: tuple[Limit, ...] = ()
