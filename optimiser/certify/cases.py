"""Proofs by cases: a model with whole numbers has no answer when every case has none."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from optimiser.certify.farkas import prove_infeasible
from optimiser.certify.proof import Cases, Farkas, Feasible, Optimum, Relaxed, Split
from optimiser.certify.simplex import solve_exactly
from optimiser.model.rows import Model

Found = Farkas | Feasible | tuple[str, int] | Literal["later"] | None
MAX_LEAVES = 2000
NEAR_WHOLE = 1e-6


def prove_infeasible_by_cases(
    model: Model, lp_solver: Callable[[Model], Relaxed], *, max_leaves: int = MAX_LEAVES, pivots: int = 2000
) -> Cases | Feasible | None:
    """A tree of refuted cases, or an exact answer when there is one; None when the caps did not settle it.

    `lp_solver` solves a continuous relaxation in floats; what it says is a hint and checked. Leaves and the
    nodes above them count, not seconds: the same model gives the same proof everywhere.
    """
    return _Tree(model.with_cost({}), lp_solver, max_leaves, pivots).grow()


@dataclass(slots=True)
class _Tree:
    model: Model
    lp_solver: Callable[[Model], Relaxed]
    max_leaves: int
    pivots: int
    nodes: list[Split | Farkas | None] = field(default_factory=list)
    unproved: list[tuple[int, Model, Relaxed]] = field(default_factory=list)

    def grow(self) -> Cases | Feasible | None:
        """Cases that look refuted are proved when no other is left: past the cap no time goes into proofs."""
        self.nodes = [None]
        waiting = [(0, self.model)]
        leaves = 0
        while waiting or self.unproved:
            if waiting:
                place, here = waiting.pop()
                found = self._settle(place, here)
            else:
                place, here, hint = self.unproved.pop()
                found = self._refuted(here, hint)
                leaves -= 1
            if found is None or isinstance(found, Feasible):
                return found
            if found == "later":
                leaves += 1
            elif isinstance(found, Farkas):
                self.nodes[place] = found
                leaves += 1
            else:
                name, at = found
                below = len(self.nodes)
                self.nodes += [None, None]
                self.nodes[place] = Split(name, at, below, below + 1)
                waiting.append((below + 1, here.tightened(name, lower=Fraction(at + 1))))
                waiting.append((below, here.tightened(name, upper=Fraction(at))))
            if leaves + len(waiting) > self.max_leaves:
                return None
        return Cases(tuple(node for node in self.nodes if node is not None))

    def _settle(self, place: int, here: Model) -> Found:
        """A case refuted, answered, to be split at (variable, whole number), or to be proved later."""
        hint = self.lp_solver(here)
        if hint.infeasible:
            self.unproved.append((place, here, hint))
            return "later"
        if hint.values is not None and (split := _most_broken(here, hint.values)):
            return split
        if hint.values is not None and (answer := self._whole_answer(here, hint)):
            return answer
        return self._exactly(here, hint)

    def _refuted(self, here: Model, hint: Relaxed) -> Found:
        """A case that looked refuted, proved so; else as any other."""
        return prove_infeasible(here, hint.ray, hint.basis, self.pivots) or self._exactly(here, hint)

    def _exactly(self, here: Model, hint: Relaxed) -> Farkas | Feasible | tuple[str, int] | None:
        exact = solve_exactly(here, hint.basis, self.pivots)
        if isinstance(exact, Farkas):
            return exact
        if not isinstance(exact, Optimum):
            return None
        broken = [name for name in here.whole if exact.values[name].denominator != 1]
        if not broken:
            return Feasible(exact.values)
        return broken[0], math.floor(exact.values[broken[0]])

    def _whole_answer(self, here: Model, hint: Relaxed) -> Feasible | None:
        """The exact answer with the whole variables held at what the float values round to."""
        held = {}
        for name in here.whole:
            value = Fraction(round((hint.values or {})[name]))
            held[name] = (value, value)
        exact = solve_exactly(here.with_bounds(held), hint.basis, self.pivots)
        if isinstance(exact, Optimum) and not here.violations(exact.values):
            return Feasible(exact.values)
        return None


def _most_broken(model: Model, values: Mapping[str, float]) -> tuple[str, int] | None:
    """The whole variable farthest from a whole number, the first of equals, and where to split it."""
    parts = [(-abs(values[name] - round(values[name])), name) for name in sorted(model.whole)]
    worst = min(parts, default=(0.0, ""))
    if worst[0] > -NEAR_WHOLE:
        return None
    return worst[1], math.floor(values[worst[1]])
