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
from dataclasses import replace

from optimiser.model.rows import Model
from optimiser.solver.columns import Array, Columns, Newcomer
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Solution
from optimiser.solver.sharing_out import Bounded, Relaxation, Way

FEW = 250
"""With fewer newcomers nothing is screened."""
SPARE = 1e-6
"""Answers worse than the best by this (and this part of it) are kept too: stages are held so much above."""
TRIED = 4
"""Of each group so many of the cheapest are tried for the answer at hand."""
NODES = 200
"""Ways of sharing out that are looked at before the rest is left to the solver."""
ROUNDS = 3
WHOLE = 1e-6


def screen(
    model: Model, newcomers: Sequence[Newcomer], limits: Limits, *, few: int = FEW
) -> frozenset[str] | None:
    """Flags and shares of newcomers that no answer of the model within the spare of its least cost has.

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
    best = _answer(model, columns, tried, limits)
    out: frozenset[str] = frozenset()
    for _ in range(ROUNDS):
        if best is None or best.objective is None:
            return None
        more, seen = _looked_at(model.without_vars(out), newcomers, _ceiling(best.objective))
        out |= more
        if seen <= tried:
            break
        tried |= seen
        again = _answer(model, columns, tried, limits)
        if again is None or again.objective is None or _ceiling(again.objective) >= best.objective:
            break
        best = again
    return out


def _looked_at(
    model: Model, newcomers: Sequence[Newcomer], ceiling: float
) -> tuple[frozenset[str], frozenset[str]]:
    """What no answer at or below the ceiling has, and what the linear models below it use.

    What one bound rules out goes first, so that the ways of sharing out are those of fewer.
    """
    out: frozenset[str] = frozenset()
    columns = Columns.of(model, newcomers)
    if columns is None:
        return out, out
    columns.tighten(ceiling)
    relaxation = Relaxation(columns)
    root = relaxation.bounded(relaxation.all_ways())
    if root is not None and not root.impossible and math.isfinite(root.bound):
        here = root.bound + root.rise <= ceiling
        out = _names(columns, ~here)
        if not here.any():
            return out, frozenset()
        if 2 * int(here.sum()) < len(here):
            columns = Columns.of(model.without_vars(out), newcomers) or columns
            columns.tighten(ceiling)
            relaxation = Relaxation(columns)
    stay, seen = _surveyed(relaxation, ceiling)
    return out | _names(columns, ~stay), _names(columns, seen)


def _ceiling(reached: float) -> float:
    return reached + SPARE * max(1.0, abs(reached))


def _names(columns: Columns, which: Array) -> frozenset[str]:
    chosen = [one for one, here in zip(columns.newcomers, which, strict=True) if here]
    return frozenset(one.flag for one in chosen) | frozenset(one.share for one in chosen)


def _cheapest(columns: Columns, root: Bounded) -> Array:
    """The few of each group whose being there costs least."""
    import numpy as np

    order = np.lexsort((root.rise, columns.group))
    first = np.searchsorted(columns.group[order], np.arange(len(columns.groups)))
    place = np.arange(len(order)) - first[columns.group[order]]
    chosen = np.zeros(len(order), dtype=bool)
    chosen[order[place < TRIED]] = True
    return chosen


def _answer(model: Model, columns: Columns, tried: frozenset[str], limits: Limits) -> Solution | None:
    """The best answer with no newcomers but those tried."""
    every = frozenset(one.flag for one in columns.newcomers) | {one.share for one in columns.newcomers}
    return solve_milp(model.without_vars(every - tried), limits)


def _surveyed(relaxation: Relaxation, ceiling: float) -> tuple[Array, Array]:
    """Newcomers that some way of sharing out leaves below the ceiling, and those its linear models use."""
    import numpy as np

    nobody = np.zeros(relaxation.newcomers, dtype=bool)
    stay, seen = nobody.copy(), nobody.copy()
    ways = [relaxation.all_ways()]
    for node in range(NODES):
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
        parted = () if node + len(ways) >= NODES - 2 else _parted(way, found, relaxation)
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
