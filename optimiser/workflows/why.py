"""Why a proposal is as it is, why not another way, and what each limit costs."""

from __future__ import annotations

from dataclasses import replace

from optimiser.domain.lists import Lists
from optimiser.domain.outcome import Impossible, Outcome, Proposals, Undecided
from optimiser.domain.selector import Pick
from optimiser.domain.why import Forced, Why
from optimiser.explain.every_lists import MOST, lists_of
from optimiser.explain.holding import ground_of, lines_of
from optimiser.explain.prices import limit_costs
from optimiser.explain.runner_up import with_runners_up
from optimiser.requests.sources import Sources
from optimiser.search.propose import silent
from optimiser.workflows.choosing import ingredient
from optimiser.workflows.compare import beside
from optimiser.workflows.propose import Asked, Tell, propose

MOST_LIMITS = 6
ALL_LISTED = 60


def why(sources: Sources, asked: Asked, tell: Tell = silent, most: int = MOST_LIMITS) -> Why | Outcome:
    """The first proposal explained line by line and limit by limit; the plain outcome when there is none."""
    outcome = propose(sources, asked, tell)
    if not isinstance(outcome, Proposals):
        return outcome
    ground = ground_of(outcome.request, outcome.proposals[0], asked.limits)
    lines = with_runners_up(ground, lines_of(ground, tell), tell)
    return Why(outcome, ground.aim.name, ground.aim.unit, lines, limit_costs(ground, most, tell))


def clashes_of(outcome: Outcome, asked: Asked, tell: Tell = silent, most: int = MOST) -> tuple[Lists, ...]:
    """Every clash and way out of an impossible request, or of each wish that the first proposal misses.

    Of a request that assumed numbers leave undecided, the lists are those of the numbers as they stand.

    None where neither is so. A wish is set against the musts alone: where it clashes with none of them, a
    wish before it stands in its way, and it has no lists.
    """
    seconds = asked.limits.seconds
    if isinstance(outcome, Impossible):
        return (lists_of(outcome.request, asked.limits, tell, most=most, seconds=seconds),)
    if isinstance(outcome, Undecided) and outcome.rests_on:
        one = lists_of(outcome.request, asked.limits, tell, most=most, seconds=seconds, as_it_stands=True)
        return (one,) if one.clash_count else ()
    if not isinstance(outcome, Proposals):
        return ()
    missed = [verdict.rule for verdict in outcome.proposals[0].unmet_wishes]
    found = [
        lists_of(outcome.request, asked.limits, tell, most=most, seconds=seconds, wish=wish)
        for wish in missed
    ]
    return tuple(one for one in found if one.clash_count)


def why_not(
    sources: Sources,
    asked: Asked,
    without: tuple[str, ...],
    swaps: tuple[tuple[str, str], ...],
    tell: Tell = silent,
) -> tuple[Outcome, tuple[Forced, ...]]:
    """The free answer, and for each ingredient named the answer without it; for each swap the answer with it.

    Raises UsageError for a name that does not exist.
    """
    free = propose(sources, asked, tell)
    found = []
    for word in without:
        one = ingredient(word, sources)
        options = replace(asked.options, leave_out=(*asked.options.leave_out, Pick("ingredient", one.id)))
        found.append(_forced(sources, replace(asked, options=options), f"without {one.name}", free, tell))
    for out, use in swaps:
        gone, come = ingredient(out, sources), ingredient(use, sources)
        options = replace(asked.options, instead_of=(*asked.options.instead_of, (gone.id, come.id)))
        words = f"{come.name} instead of {gone.name}"
        found.append(_forced(sources, replace(asked, options=options), words, free, tell))
    return free, tuple(found)


def _forced(sources: Sources, asked: Asked, words: str, free: Outcome, tell: Tell) -> Forced:
    tell(f"looking for the formula {words}")
    outcome = propose(sources, replace(asked, alternatives=0), tell)
    both = isinstance(free, Proposals) and isinstance(outcome, Proposals)
    return Forced(words, outcome, beside(free, outcome, words) if both else None)  # type: ignore[arg-type]
