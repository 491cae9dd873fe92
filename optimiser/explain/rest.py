"""How far one must would give way with the other rules as they are, by rows no judged formula breaks."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.request import Request
from optimiser.domain.rules import (
    Acidity,
    Amount,
    Cost,
    FreeLiquid,
    Legal,
    Level,
    LineCount,
    Mean,
    Newcomers,
    Rule,
    Share,
    UseRange,
)
from optimiser.explain.giving import Side, changed, moved, outward, unit_step
from optimiser.explain.quick import start_of
from optimiser.lp.build import build
from optimiser.model.rows import Model, Row, Var
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Outcome, Solution

ONE = Fraction(1)
TOPS = tuple(Fraction(halves, 2) for halves in range(17, 7, -1))
"""Tops of a pH window that are tried where none works so high that nothing covers: from 8.5 down to 4."""
STRAIGHT = (Share, Level, Mean, Amount, UseRange, FreeLiquid, Cost, Newcomers, LineCount, Legal)
"""Kinds whose limit stands on the right of their rows: one solve tells how far it must move."""
WHERE = {"low": "least", "high": "most", "at_most": "most", "maximum": "most"}


class Rest:
    """The musts of a request as rows, `lenient`: with them what is impossible is so.

    Without `lenient` the rows are those the search first writes: what is possible with them mostly is.
    """

    def __init__(self, request: Request, limits: Limits, *, lenient: bool = True) -> None:
        self.request, self.limits, self.lenient = request, limits, lenient
        self.at = None if lenient else start_of(request)
        self.wishes = {rule.head.id for rule in request.rules if rule.head.rank is not None}
        self.model = build(request, without=self.wishes, lenient=lenient, incumbent=self.at)
        self._strict: Rest | None = None
        self._exact: dict[tuple[str, str], Fraction | None] = {}
        self._nearest: dict[tuple[str, str], Fraction | None] = {}

    @property
    def strict(self) -> Rest:
        """The same musts by the rows the search first writes."""
        if not self.lenient:
            return self
        if self._strict is None:
            self._strict = Rest(self.request, self.limits, lenient=False)
        return self._strict

    def with_changed(
        self, other: Request, elastic: Collection[str] = (), *, redo: Collection[str] = ()
    ) -> Model:
        """The rows of `other`, which differs in some rules only: these alone are written anew."""
        old = {rule.head.id: rule for rule in self.request.rules}
        new = {rule.head.id: rule for rule in other.rules}
        touched = {i for i in old if new.get(i) != old[i]} | {i for i in new if i not in old}
        touched |= {*elastic, *redo}
        others = (set(new) - touched) | self.wishes
        part = build(other, without=others, elastic=elastic, lenient=self.lenient, incumbent=self.at)
        mine = [row for row in part.rows if row.rule in touched]
        known = {var.name for var in self.model.vars}
        fresh = [var for var in part.vars if var.name not in known]
        kept = self.model.without_rules(touched)
        return replace(kept, vars=(*kept.vars, *fresh), rows=(*kept.rows, *mine))

    def solved(self, model: Model) -> Solution:
        return solve_milp(model, self.limits)

    def possible(self, other: Request) -> bool | None:
        """Whether the rows of another request have an answer; None when that could not be told."""
        return settled(self.solved(self.with_changed(other)))

    def without(self, rule: Rule) -> bool | None:
        """Whether the rest holds when this rule is given up."""
        return settled(self.solved(self.model.without_rules({rule.head.id})))

    def nearest(self, rule: Rule, side: Side) -> Fraction | None:
        """The limit nearest to the one asked that the rows allow, in shown steps; None where none is."""
        key = rule.head.id, side.which
        if key not in self._nearest:
            exact = self.exact(rule, side)
            tried = None if isinstance(rule, STRAIGHT) else self._by_trying(rule, side)
            self._nearest[key] = tried if exact is None else outward(exact, side)
        return self._nearest[key]

    def exact(self, rule: Rule, side: Side) -> Fraction | None:
        """The limit itself, where one solve tells it."""
        key = rule.head.id, side.which
        if key not in self._exact:
            self._exact[key] = self._solved_for(rule, side) if isinstance(rule, STRAIGHT) else None
        return self._exact[key]

    def _solved_for(self, rule: Rule, side: Side) -> Fraction | None:
        model = self.with_changed(self.request, (rule.head.id,))
        own = f"w:{rule.head.id}:"
        mine = f"{own}{WHERE.get(side.which, '')}"
        shut = {v.name: (Fraction(0), Fraction(0)) for v in model.vars if v.name.startswith(own)}
        shut.pop(mine, None)
        if not any(var.name == mine for var in model.vars):
            return None
        answer = self.solved(model.with_bounds(shut).with_cost({mine: ONE}, "min"))
        if answer.outcome is not Outcome.OPTIMAL:
            return None
        by = Fraction(repr(max(answer.values[mine], 0.0)))
        return side.asked - by if side.floor else side.asked + by

    def _by_trying(self, rule: Rule, side: Side) -> Fraction | None:
        """The limit stands in a coefficient: it is tried at numbers as they would be shown."""

        def works(limit: Fraction) -> bool:
            return bool(self.possible(changed(self.request, rule, moved(rule, side, limit))))

        fars = [side.far]
        if isinstance(rule, Acidity) and not side.floor:
            fars += [top for top in TOPS if side.asked < top]
        return next((found for far in fars if (found := bisected(side.asked, far, works)) is not None), None)

    def with_rows(self, variables: Iterable[Var], rows: Iterable[Row], without: Collection[str]) -> Model:
        """The musts without some rules, with further variables and rows."""
        kept = self.model.without_rules(set(without))
        return replace(kept, vars=(*kept.vars, *variables), rows=(*kept.rows, *rows))


def settled(answer: Solution) -> bool | None:
    if answer.outcome is Outcome.INFEASIBLE:
        return False
    return True if answer.objective is not None else None


def bisected(asked: Fraction, far: Fraction, works: Callable[[Fraction], bool]) -> Fraction | None:
    """The limit nearest to the one asked that works, in steps as they are shown; None where none does."""
    if asked == far or not works(far):
        return None
    if min(asked, far) < 1 < max(asked, far):
        asked, far = (asked, ONE) if works(ONE) else (ONE, far)
    unit = unit_step(min(asked, far)) if max(asked, far) > 1 else unit_step(Fraction(0))
    up = far > asked
    bad = math.floor(asked / unit) if up else math.ceil(asked / unit)
    good = math.ceil(far / unit) if up else math.floor(far / unit)
    bad, good = _closer(bad, good, unit, works)
    while abs(good - bad) > 1:
        middle = (bad + good) // 2
        bad, good = (bad, middle) if works(middle * unit) else (middle, good)
    return good * unit


def _closer(bad: int, good: int, unit: Fraction, works: Callable[[Fraction], bool]) -> tuple[int, int]:
    """A narrower pair, by steps that grow from the limit asked: most cures are near."""
    by = 8
    while abs(good - bad) > 2 * by:
        tried = bad + by if good > bad else bad - by
        if works(tried * unit):
            return bad, tried
        bad, by = tried, by * 4
    return bad, good
