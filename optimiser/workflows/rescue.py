"""One new ingredient for a whole range, each formula with it judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Literal, cast

from optimiser.domain.across import Range, Rescue, Rescuer
from optimiser.domain.request import Request
from optimiser.errors import OptimiserError
from optimiser.requests.sources import Sources
from optimiser.search.propose import silent
from optimiser.search.rescue import Best, best_newcomer
from optimiser.search.stages import bent
from optimiser.solver.interface import Limits
from optimiser.workflows.across import Means, Tables, Tell, across, checked
from optimiser.workflows.across_job import Wishes, as_asked, said_here
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import request_for

Among = Literal["shelf", "table"]
ZERO = Fraction(0)
MOST_TRIED = 5
"""So many ingredients are judged before the best of them is called the best found so far."""


def rescue(tables: Tables, wishes: Wishes, means: Means, among: Among, tell: Tell = silent) -> Range:
    """The range with the one new ingredient that lets most formulas work, and nothing else new.

    One model over the range names the ingredient and a number that none can beat; every formula is then asked
    with it. While fewer work than the model had it, the next is tried. Of several that do the same the
    cheapest by weight. Raises UsageError, OptimiserError.
    """
    checked(tables, wishes)
    requests = _requests(tables, wishes)
    candidates = _candidates(tables, wishes, requests, among)
    limits = Limits(seconds=cast("float | None", dict(wishes.said).get("seconds")))
    tried: list[tuple[Rescuer, Range]] = []
    done = False
    while not done and len(tried) < MOST_TRIED:
        tell(f"one model over {len(requests)} formulas and {len(candidates)} ingredients")
        found = best_newcomer(requests, candidates, limits, [one.ingredient for one, _ in tried])
        best = max((one.works for one, _ in tried), default=-1)
        if found is None:
            break
        done = len(found.works) <= best
        if not done:
            tried.append(_tried(found, tables, wishes, means, tell))
            one, ranged = tried[-1]
            done = one.works >= len(found.works) or not found.ingredient
            if ranged.stopped:
                break
    if not tried:
        raise OptimiserError("the solver gave no answer over the range", "give it longer with --seconds")
    return _told(tried, among, len(candidates), done and not _bent(requests), tables, wishes, means, tell)


def _tried(found: Best, tables: Tables, wishes: Wishes, means: Means, tell: Tell) -> tuple[Rescuer, Range]:
    """Every formula asked with this ingredient as the only new one."""
    ranged = across(tables, _only(wishes, found.ingredient), means, tell)
    working = [one for one in ranged.answers if one.state in ("works", "as it is")]
    name = next((_name(sources, found.ingredient) for _, sources in tables.read.values()), "")
    uses = sum(1 for one in working if one.came)
    return Rescuer(found.ingredient, name, len(working), len(found.works), uses), ranged


def _only(wishes: Wishes, ingredient: str) -> Wishes:
    return replace(wishes, narrowed=True, only_new=ingredient)


def _name(sources: Sources, ingredient: str) -> str:
    known = sources.worktable.ingredients.get(ingredient)
    return known.name if known else ingredient


def _told(
    tried: list[tuple[Rescuer, Range]],
    among: Among,
    candidates: int,
    proved: bool,
    tables: Tables,
    wishes: Wishes,
    means: Means,
    tell: Tell,
) -> Range:
    """The best first; its answers are the ones kept in the folder, whatever was tried after it."""
    ranked = sorted(tried, key=lambda pair: (-pair[0].works, pair[0].ingredient))
    best, ranged = ranked[0]
    if ranged is not tried[-1][1] and means.to is not None:
        ranged = across(tables, _only(wishes, best.ingredient), means, tell)
    told = Rescue(among, best.ingredient, tuple(one for one, _ in ranked), candidates, proved)
    return replace(ranged, rescue=told)


def _bent(requests: Sequence[Request]) -> bool:
    """Whether some row is right at one answer only, so that the model's number is no proof."""
    return any(bent(rule) for request in requests for rule in request.rules)


def _requests(tables: Tables, wishes: Wishes) -> list[Request]:
    """Every formula that the question can be put to, closed."""
    found = []
    for label, (_, own) in tables.read.items():
        sources = as_asked(own, wishes)
        for formula in tables.formulas(label):
            try:
                found.append(request_for(sources, ask(sources, formula, said_here(wishes, sources, formula))))
            except OptimiserError:
                continue
    return found


def _candidates(tables: Tables, wishes: Wishes, requests: Sequence[Request], among: Among) -> list[str]:
    """Ingredients that are new to some formula, of the table or with a lot in date; the cheapest first."""
    new = frozenset(one for request in requests for one in request.newcomers)
    prices = {
        name: one.price_per_kg or ZERO for request in requests for name, one in request.ingredients.items()
    }
    ranked = sorted(new, key=lambda name: (prices[name], name))
    if among == "table":
        return ranked
    there = set()
    for _, own in tables.read.values():
        day = wishes.on or own.worktable.settings.rules_date
        there |= {lot.ingredient for lot in own.worktable.shelf if lot.expires is None or lot.expires >= day}
    return [name for name in ranked if name in there]
