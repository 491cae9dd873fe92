"""Which newcomers can never enter: bounds that prove it, before the whole-number solver sees them.

A newcomer is not there, or stands between its least and its most. Prices of the rows (any prices will do)
give a bound on every answer; with a newcomer there it rises by what that newcomer then costs. Where it rises
above an answer at hand, the newcomer is out. Prices come from a linear model in which each newcomer is two
columns, at its least and at its most, and how many newcomers a group brings is a whole number that is
branched on: one bound for each way of sharing them out, and out is what is out in all of them.

Bounds are computed in floats with all rounding counted against them, so that what is said to be out is out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimiser.model.rows import Model
from optimiser.solver.columns import Array, Columns, Newcomer
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits
from optimiser.solver.sharing_out import Bounded, Relaxation, Way

FEW = 250
"""With fewer newcomers nothing is screened."""
SPARE = 1e-6
"""Answers worse than the best by this (and this part of it) are kept too: stages are held so much above."""
TRIED = 4
"""Of each group so many of the cheapest are tried for the answer at hand."""
NODES = 200
"""Ways of sharing out that are looked at before the rest is left to the solver; an even number, so that a
look can end with the two that it parted last."""
FIRST_NODES = 16
"""Ways that are looked at for a better answer at hand, which then rules more out."""
ENOUGH = {FIRST_NODES: 20, NODES: 100}
"""With so few newcomers left after a look, a longer one or a better answer would bring nothing."""
LOOKS = ((FIRST_NODES, NODES), (NODES,), (NODES,))
"""The looks of each round; a short one comes first, until there is a better answer than the first at hand."""
WHOLE = 1e-6


def screen(
    model: Model, newcomers: Sequence[Newcomer], limits: Limits, *, few: int = FEW
) -> frozenset[str] | None:
    """Variables of newcomers that no answer of the model within the spare of its least cost has.

    None where nothing can be said.
    """
    if len(newcomers) < few or model.sense != "min":
        return None
    columns = Columns.of(model, newcomers)
    if columns is None:
        return None
    columns.tighten()
    relaxation = Relaxation(columns)
    root = relaxation.bounded(relaxation.all_ways())
    if root is None or root.impossible:
        return None
    tried = _names(columns, (root.there > WHOLE) | _cheapest(columns, root))
    every = frozenset(name for one in columns.newcomers for name in one.variables)
    best = solve_milp(model.without_vars(every - tried), limits).objective
    if best is None:
        return None
    columns.tighten(_ceiling(best))
    dear = _dear(relaxation.bounded_again(root, relaxation.all_ways()), _ceiling(best))
    out = _names(columns, dear)
    at = _Narrowing(model.without_vars(out), tried - out, best, out)
    for nodes in LOOKS:
        at, better = _looked_at(at, newcomers, limits, nodes)
        if not better:
            break
    return at.out


Left = tuple[Columns, Relaxation]


@dataclass(frozen=True, slots=True)
class _Narrowing:
    """The model without what is out, what was tried in it, and the best that was reached."""

    model: Model
    tried: frozenset[str]
    best: float
    out: frozenset[str]

    def without(self, more: frozenset[str]) -> _Narrowing:
        return replace(
            self, model=self.model.without_vars(more), tried=self.tried - more, out=self.out | more
        )


def _looked_at(
    at: _Narrowing, newcomers: Sequence[Newcomer], limits: Limits, looks: Sequence[int]
) -> tuple[_Narrowing, bool]:
    """Without what no answer at or below the ceiling has; whether a better answer was found on the way.

    What the linear models of a look use may make a better answer, which then rules more out.
    """
    at, left = _drawn_in(at, newcomers)
    if left is None:
        return at, False
    columns, relaxation = left
    here = ~_nobody(relaxation)
    for nodes in looks:
        stay, seen = _surveyed(relaxation, _ceiling(at.best), nodes)
        at = at.without(_names(columns, here & ~stay))
        here &= stay
        if here.sum() <= ENOUGH[nodes]:
            break
        every, used = _names(columns, here), _names(columns, here & seen)
        if not used <= at.tried:
            at = replace(at, tried=at.tried | used)
            best = solve_milp(at.model.without_vars(every - at.tried), limits).objective
            if best is not None and _ceiling(best) < at.best:
                return replace(at, best=best), True
    return at, False


def _drawn_in(at: _Narrowing, newcomers: Sequence[Newcomer]) -> tuple[_Narrowing, Left | None]:
    """The linear model below the ceiling; none where nothing is left to look at.

    What one bound rules out goes first, so that the ways of sharing out are those of fewer.
    """
    ceiling = _ceiling(at.best)
    columns = Columns.of(at.model, newcomers)
    while columns is not None:
        columns.tighten(ceiling)
        relaxation = Relaxation(columns)
        root = relaxation.bounded(relaxation.all_ways())
        if root is None or root.impossible:
            return at, (columns, relaxation)
        dear = _dear(root, ceiling)
        if 2 * dear.sum() <= len(dear):
            return at, (columns, relaxation)
        at = at.without(_names(columns, dear))
        columns = Columns.of(at.model, newcomers)
    return at, None


def _dear(found: Bounded, ceiling: float) -> Array:
    """The newcomers that lift the bound above the ceiling."""
    above: Array = found.bound + found.rise > ceiling
    return above & math.isfinite(found.bound)


def _ceiling(reached: float) -> float:
    return reached + SPARE * max(1.0, abs(reached))


def _names(columns: Columns, which: Array) -> frozenset[str]:
    chosen = [one for one, here in zip(columns.newcomers, which, strict=True) if here]
    return frozenset(name for one in chosen for name in one.variables)


def _cheapest(columns: Columns, root: Bounded) -> Array:
    """The few of each group whose being there costs least."""
    import numpy as np

    order = np.lexsort((root.rise, columns.group))
    first = np.searchsorted(columns.group[order], np.arange(len(columns.groups)))
    place = np.arange(len(order)) - first[columns.group[order]]
    chosen = np.zeros(len(order), dtype=bool)
    chosen[order[place < TRIED]] = True
    return chosen


def _nobody(relaxation: Relaxation) -> Array:
    import numpy as np

    return np.zeros(relaxation.newcomers, dtype=bool)


def _surveyed(relaxation: Relaxation, ceiling: float, nodes: int) -> tuple[Array, Array]:
    """Newcomers that some way of sharing out leaves below the ceiling, and those its linear models use."""
    nobody = _nobody(relaxation)
    stay, seen = nobody.copy(), nobody.copy()
    ways = [relaxation.all_ways()]
    for node in range(nodes):
        if not ways:
            return stay, seen
        way = ways.pop()
        found = relaxation.bounded(way)
        if found is None or found.bound == -math.inf:
            return ~nobody, seen
        if found.impossible or found.bound > ceiling:
            continue
        here = found.bound + found.rise <= ceiling
        if not (here & ~stay).any():
            continue
        parted = () if node + len(ways) >= nodes - 2 else _parted(way, found, relaxation)
        if parted:
            ways += parted
        else:
            stay |= here
            seen |= found.there > WHOLE
    return ~nobody, seen


def _parted(way: Way, found: Bounded, relaxation: Relaxation) -> tuple[Way, ...]:
    """Two ways that together are all of this one; none where its linear model shares nothing out.

    By a count that is broken, else by whether a group brings more than one, else by its half.
    """
    import numpy as np

    apart = np.abs(found.counts - np.round(found.counts))
    if apart.max() > WHOLE:
        return _by_count(way, int(apart.argmax()), math.floor(found.counts[int(apart.argmax())]))
    ones = np.round(found.counts) == 1
    shared = (found.there > WHOLE) & (found.there < 1 - WHOLE) & ones[relaxation.group]
    if not shared.any():
        return ()
    group = int(relaxation.group[int(np.where(shared, found.there, 0.0).argmax())])
    if way.high[group] > 1:
        return _by_count(way, group, 1)
    members = (relaxation.group == group) & ~way.out
    first = relaxation.first_half(members, found)
    return tuple(replace(way, out=way.out | half) for half in (members & ~first, members & first))


def _by_count(way: Way, group: int, most: int) -> tuple[Way, Way]:
    below, above = way.high.copy(), way.low.copy()
    below[group], above[group] = most, most + 1
    return replace(way, low=above), replace(way, high=below)
