"""Why a proposal is as it is: what holds each line, what each limit costs, what another way would give."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.comparison import Comparison
from optimiser.domain.outcome import Impossible, Proposals, Undecided

Span = tuple[Fraction, Fraction]


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """What would come in next for a line: `price` per kg now, and `comes_in` the price at which it would.

    There the best formula with it (`share` of it, `line` left of the line, in % w/w) costs what the best
    costs now; below, it is in the answer, above, it is not. None: not even for nothing.
    """

    ingredient: str
    name: str
    price: Fraction | None
    comes_in: Fraction | None
    share: Fraction
    line: Fraction


@dataclass(frozen=True, slots=True)
class LineWhy:
    """One ingredient of a proposal, in % w/w.

    `may` is the least and the most of it over all formulas that meet every must, `as_good` over those as good
    by the first aim; None where the solver did not settle it. `held_by` are the rules that stop it where it
    stands. `behind` is how far the best formula without it falls behind by the first aim (None: there is
    none), `then` what comes in its place.
    """

    ingredient: str
    name: str
    share: Fraction
    may: Span | None
    as_good: Span | None
    held_by: tuple[str, ...]
    behind: Fraction | None = None
    dearer: Fraction | None = None
    then: tuple[str, ...] = ()
    needed: bool = False
    runner_up: RunnerUp | None = None


@dataclass(frozen=True, slots=True)
class LimitCost:
    """What the next step of one limit costs: `tighter` by one `step`, or looser.

    Money in the currency per kg and the first aim in its own unit, for one step; `whole` says whether which
    ingredients are used may change. `until` is the limit up to which it stays so (None: no end was found);
    None for money and aim: no formula any more.
    """

    rule: str
    side: str
    limit: Fraction
    step: Fraction
    unit: str
    tighter: bool
    whole: bool
    money: Fraction | None
    aim: Fraction | None
    until: Fraction | None


@dataclass(frozen=True, slots=True)
class Forced:
    """The formula another way: what was forced in words, its outcome, and it beside the free one."""

    asked: str
    outcome: Proposals | Impossible | Undecided
    beside: Comparison | None


@dataclass(frozen=True, slots=True)
class Why:
    """All of it for the first proposal; `aim` names the first aim and `unit` its unit."""

    outcome: Proposals
    aim: str
    unit: str
    lines: tuple[LineWhy, ...]
    limits: tuple[LimitCost, ...]
