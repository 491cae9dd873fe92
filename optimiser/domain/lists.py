"""Every way in which the rules of a request clash, and every way out."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.domain.rules import Rule


@dataclass(frozen=True, slots=True)
class RuleSide:
    """One limit of a rule that may be given up: its `low` or its `high` one, or all of it."""

    rule: Rule
    side: Literal["low", "high", "all"]
    words: str


@dataclass(frozen=True, slots=True)
class Clash:
    """Sides that cannot hold together; `always` are the rules that are never given up and clash with them.

    `certified`: summed up in exact fractions; `proof` is that sum in words, `whole` titles what is there or
    not there in its cases.
    """

    members: tuple[RuleSide, ...]
    always: tuple[Rule, ...] = ()
    certified: bool = False
    proof: tuple[str, ...] = ()
    whole: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WayOut:
    """Sides that, given up together, make the rest possible; `certified`: an exact answer shows it.

    `limits` says how far each would have to move. `lines` (ingredient, %) is a formula that the judge passed
    under them; empty where none was found.
    """

    members: tuple[RuleSide, ...]
    certified: bool
    limits: tuple[str, ...] = ()
    lines: tuple[tuple[str, Fraction], ...] = ()
    cost_per_kg: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Lists:
    """Both lists, smaller ones first, then those whose members are given up sooner.

    `complete`: every one is certified and each list is proved to hold all there are. `exhausted`: the solver
    found no more, certified or not. `clash_count` and `way_count` are what was found, of which the first are
    listed. `unsettled` counts what could not be decided. `wish` is the wish that was held to be a must.
    `assumed`: the lists are those of the numbers as they stand, some of which nobody looked up.
    """

    clashes: tuple[Clash, ...]
    ways: tuple[WayOut, ...]
    complete: bool
    exhausted: bool
    clash_count: int
    way_count: int
    unsettled: int = 0
    wish: Rule | None = None
    assumed: bool = False
