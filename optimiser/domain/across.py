"""What a range comes to when the same is asked of each of its formulas."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

State = Literal["works", "as it is", "impossible", "undecided", "not asked"]
STATES: tuple[State, ...] = ("works", "as it is", "impossible", "undecided", "not asked")


@dataclass(frozen=True, slots=True)
class FormulaAnswer:
    """One formula of the range.

    `as it is`: the base meets everything without a change. `not asked`: the request could not be put to it
    (`why` says what stood in the way). `departure` in points, costs in `currency` per kg: `cost_before` is
    the base at the prices of the worktable, `cost_unchanged` the base at the prices asked, `cost_after` the
    proposal at the prices asked. `went` and `came` are names. `why` and `concession` are one sentence each,
    empty where there is nothing to say. `remarks` say where another line still brings what is left out.
    """

    worktable: str
    formula: str
    name: str
    state: State
    currency: str = ""
    departure: Fraction | None = None
    cost_before: Fraction | None = None
    cost_unchanged: Fraction | None = None
    cost_after: Fraction | None = None
    went: tuple[str, ...] = ()
    came: tuple[str, ...] = ()
    why: str = ""
    concession: str = ""
    proposal: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rescuer:
    """One ingredient that may come into any formula of the range, as the only new one.

    `works` formulas were found with it, `uses` of them with something of it in; no more than `at_most` can be
    found. `ingredient` is empty for nothing new at all.
    """

    ingredient: str
    name: str
    works: int
    at_most: int
    uses: int


@dataclass(frozen=True, slots=True)
class Rescue:
    """The one ingredient that lets most formulas work, with the others tried, best first.

    `ingredient` is empty where no single one helps any. `proved`: no other lets more formulas work.
    """

    among: Literal["shelf", "table"]
    ingredient: str
    tried: tuple[Rescuer, ...]
    candidates: int
    proved: bool


@dataclass(frozen=True, slots=True)
class Range:
    """All answers, by worktable in the order asked and by formula. `asked` says in words what was asked.

    `of` is the number of formulas; fewer answers stand in `answers` where the work was stopped. `kept` of
    them were found in the folder from an earlier run.
    """

    asked: str
    answers: tuple[FormulaAnswer, ...]
    of: int
    kept: int = 0
    stopped: bool = False
    rescue: Rescue | None = None

    @property
    def counts(self) -> dict[State, int]:
        return {state: sum(1 for one in self.answers if one.state == state) for state in STATES}
