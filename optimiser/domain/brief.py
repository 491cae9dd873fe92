"""A brief: what must change, what must stay, and the aim."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from optimiser.domain.firm import Firm
from optimiser.domain.ingredient import Place
from optimiser.domain.selector import Selector
from optimiser.domain.wanted import Wanted

Aim = Literal["closest", "cheapest", "fewest-changes", "fewest-ingredients", "shelf-first"]
AIMS: tuple[Aim, ...] = ("closest", "cheapest", "fewest-changes", "fewest-ingredients", "shelf-first")


@dataclass(frozen=True, slots=True)
class LeaveOut:
    of: Selector
    label: str
    why: str = ""
    source: str = ""
    rank: int | None = None
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Instead:
    out: str
    use: str
    place: Place = Place()


def _nothing() -> Mapping[str, str]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Brief:
    """A reusable list of wants plus an aim. `product` overrides the formula's facts by name.

    `accept` maps a clash's id to the reason it is accepted with. `also` names briefs it builds on.
    """

    id: str
    name: str
    also: tuple[str, ...] = ()
    product: Mapping[str, str] = field(default_factory=_nothing)
    leave_out: tuple[LeaveOut, ...] = ()
    instead_of: tuple[Instead, ...] = ()
    only_from: Literal["", "shelf"] = ""
    targets: tuple[Wanted, ...] = ()
    accept: Mapping[str, str] = field(default_factory=_nothing)
    aim: tuple[Aim, ...] = ()
    place: Place = Place()
    firm: Firm | None = None
