"""A model with whole numbers whose cost and rows move: most answers come from linear models alone.

The relaxation bounds every answer. Where it stays as good with its yes-or-no variables rounded up and held,
that is the answer. Else what the relaxation's prices rule out is held, and the rest is solved from the answer
at hand. Both models stay alive, so nothing is written twice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.model.rows import Model, Row, Var
from optimiser.solver.highs import Session, solve_lp
from optimiser.solver.interface import NO_LIMITS, Limits, Outcome, Solution

SAME = 1e-9
"""Values nearer than this part of themselves are one."""
SPARE = 1e-6
"""So much worse than the answer at hand is still looked at."""
NOUGHT = 1e-9
Held = dict[str, tuple[Fraction, Fraction]]
ONE, ZERO = Fraction(1), Fraction(0)


class Moving:
    """The model kept alive; two of them with the same history give the same answers."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self._open = tuple(var for var in model.vars if var.kind != "C" and var.lower != var.upper)
        self._limits = {var.name: (var.lower, var.upper) for var in self._open}
        self._free = Session(model.relaxed(), bare=True)
        self._whole: Session | None = None
        self._flip = -1.0 if model.sense == "max" else 1.0
        self._last: Held = {}

    def rewrite(self, row: Row) -> None:
        """The row of that name with other limits and coefficients, of the same variables."""
        rows = tuple(row if one.name == row.name else one for one in self.model.rows)
        self.model = replace(self.model, rows=rows)
        self._free.rewrite_row(row)
        if self._whole is not None:
            self._whole.rewrite_row(row)

    def move_cost(self, cost: Mapping[str, Fraction]) -> None:
        """Another cost, all of it; the sense stays."""
        self.model = self.model.with_cost(cost, constant=self.model.constant)
        self._free.move_cost(cost, self.model.constant)
        if self._whole is not None:
            self._whole.move_cost(cost, self.model.constant)

    def solve(self, limits: Limits = NO_LIMITS) -> Solution:
        """The best answer as things stand, as a solve of the whole model would find it."""
        root = self._free.solve(limits)
        if root.outcome is Outcome.INFEASIBLE or (root.outcome is Outcome.OPTIMAL and not self._open):
            return root
        if root.outcome is not Outcome.OPTIMAL or root.objective is None:
            return self._searched({}, None, limits)
        rounded = {var.name: _up(root.values[var.name]) for var in self._open}
        best = self._at_hand(root, rounded, limits)
        if best is None or best.objective is None:
            return self._searched({}, None, limits)
        if abs(best.objective - root.objective) <= SAME * max(1.0, abs(root.objective)):
            return best
        return self._searched(ruled_out(self._open, root, best.objective, self._flip), best.values, limits)

    def _at_hand(self, root: Solution, rounded: Held, limits: Limits) -> Solution | None:
        """The best answer with the whole numbers rounded up, or as they were the last time."""
        found = []
        for held in (rounded, self._last):
            if held:
                answer = self._held(held, limits)
                if answer.outcome is Outcome.OPTIMAL and answer.objective is not None:
                    found.append(answer)
                    if root.objective is not None and abs(answer.objective - root.objective) <= SAME:
                        break
        return min(found, key=lambda one: self._flip * (one.objective or 0.0), default=None)

    def _held(self, held: Held, limits: Limits) -> Solution:
        self._free.move_all_bounds(held)
        answer = self._free.solve(limits)
        self._free.move_all_bounds(self._limits)
        return answer

    def _searched(self, out: Held, start: Mapping[str, float] | None, limits: Limits) -> Solution:
        if self._whole is None:
            self._whole = Session(self.model)
        self._whole.move_all_bounds(out)
        answer = self._whole.solve(limits, start)
        self._whole.move_all_bounds({name: self._limits[name] for name in out})
        if answer.outcome is Outcome.OPTIMAL:
            self._last = {var.name: _nearest(answer.values[var.name]) for var in self._open}
        return answer


def ruled_out(variables: tuple[Var, ...], root: Solution, reached: float, flip: float = 1.0) -> Held:
    """Yes-or-no variables that no answer as good as `reached` has otherwise, by the relaxation's prices."""
    if root.reduced is None or root.objective is None:
        return {}
    room = abs(reached - root.objective) + SPARE * max(1.0, abs(reached))
    held: Held = {}
    for var in variables:
        if var.lower != ZERO or var.upper != ONE:
            continue
        price, value = flip * root.reduced[var.name], root.values[var.name]
        if price > room and value <= NOUGHT:
            held[var.name] = (ZERO, ZERO)
        elif price < -room and value >= 1 - NOUGHT:
            held[var.name] = (ONE, ONE)
    return held


def narrowed(model: Model, ceiling: Fraction) -> Model:
    """The model with what no answer has whose cost (to be made least) is at most `ceiling` held."""
    root = solve_lp(model)
    if root.outcome is not Outcome.OPTIMAL:
        return model
    variables = tuple(var for var in model.vars if var.kind != "C")
    return model.with_bounds(dict(ruled_out(variables, root, float(ceiling))))


def _up(value: float) -> tuple[Fraction, Fraction]:
    whole = Fraction(math.ceil(value - NOUGHT))
    return whole, whole


def _nearest(value: float) -> tuple[Fraction, Fraction]:
    whole = Fraction(round(value))
    return whole, whole
