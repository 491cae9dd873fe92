"""The least giving-way of one rule that makes an impossible request possible, with the formula it gives."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.outcome import Concession, Proposal
from optimiser.domain.request import Request
from optimiser.domain.rules import Absent, Acidity, Clash, Newcomers, Rule, Stock
from optimiser.explain.giving import (
    STEPS_OF_GIVING_UP,
    Side,
    beyond,
    changed,
    may_give,
    moved,
    sides_of,
    steps_between,
    without_ceilings,
)
from optimiser.explain.quick import Made, quick_formula
from optimiser.explain.rest import Rest
from optimiser.explain.words import Tongue, best_words, limit_words, reworded, side_words, who
from optimiser.requests.sentences import number
from optimiser.search.proposal import dress
from optimiser.search.propose import search
from optimiser.solver.interface import Limits

MOST_SHOWN, MOST_TRIED, MOST_SEARCHED = 5, 12, 2
EASINGS = 4
UNDER_IT = "With this concession"
WITHOUT = "without it"


@dataclass(frozen=True, slots=True)
class Cure:
    """One way to give in: what is asked, what would do, how many steps that is, and the request it makes.

    `easier` gives the same cure with a little more given, for what only just fails on the grid; `further` the
    same with as much given as the search's own rows ask for, which are stricter where numbers are assumed.
    """

    rule: Rule
    asked: str
    enough: str
    sentence: str
    steps: Fraction
    request: Request
    easier: Callable[[int], Cure] | None = None
    outside: bool = False
    further: Callable[[], Cure | None] | None = None
    back: tuple[str, ...] = ()


def concessions(cures: list[Cure], limits: Limits) -> tuple[Concession, ...]:
    """The cures that give a formula the judge passes, smallest first; the first in full.

    Law, safety and physics are never offered. A step is 1 % of the limit asked; another ingredient counts
    as ten steps, allowing one thing again as fifty, giving a rule up as a hundred.
    """
    ranked = sorted(cures, key=lambda c: (c.steps, c.rule.head.id, c.enough))
    found: list[tuple[Cure, Made]] = []
    left = MOST_TRIED
    for cure in ranked:
        for tried in itertools.islice(_tries(cure), EASINGS):
            if left == 0 or len(found) == MOST_SHOWN:
                break
            left -= 1
            made = quick_formula(without_ceilings(tried.request), limits)
            if made is not None:
                found.append((tried, made))
                break
    if not found:
        return _searched(ranked[:MOST_SEARCHED], limits)
    found.sort(key=lambda pair: pair[0].steps)
    full = _in_full(*found[0], limits)
    rest = (_worded(cure, None, made.lines, made.cost_per_kg) for cure, made in found[1:])
    return (full, *rest)


def _in_full(cure: Cure, made: Made, limits: Limits) -> Concession:
    """With the formula that asking so gives; with the one at hand where the whole search finds none."""
    request = without_ceilings(cure.request)
    answer = search(request, limits=limits)
    if answer.proposals:
        return _with(cure, replace(answer.proposals[0], heading=UNDER_IT))
    return _with(cure, dress(request, made.shares, made.stages, UNDER_IT))


def _with(cure: Cure, proposal: Proposal) -> Concession:
    lines = tuple((line.ingredient, line.percent) for line in proposal.lines)
    return _worded(cure, proposal, lines, proposal.cost_per_kg)


def _searched(cures: list[Cure], limits: Limits) -> tuple[Concession, ...]:
    """The first cure for which the whole search finds a formula."""
    for cure in cures:
        settled, proposal = with_formula(cure, limits)
        if proposal is not None:
            return (_with(settled, proposal),)
    return ()


def _tries(cure: Cure) -> Iterator[Cure]:
    """The cure, then a little more given each time; then from where the search's own rows would have it."""
    yield cure
    more = cure.further() if cure.further is not None else None
    if more is not None and more.enough != cure.enough:
        yield from _tries(more)
    elif cure.easier is not None:
        yield from (cure.easier(easing) for easing in range(1, EASINGS))


def _worded(
    cure: Cure,
    proposal: Proposal | None,
    lines: tuple[tuple[str, Fraction], ...],
    cost: Fraction | None,
) -> Concession:
    sentence = cure.sentence
    if isinstance(cure.rule, Newcomers):
        request = cure.request
        came = [request.ingredients[name].name for name, _ in lines if name in request.newcomers]
        sentence += f" They could be {', '.join(came)}." if len(came) > 1 else ""
        sentence += f" It could be {came[0]}." if len(came) == 1 else ""
    new = next((rule for rule in cure.request.rules if rule.head.id == cure.rule.head.id), None)
    return Concession(
        cure.rule,
        cure.asked,
        cure.enough,
        sentence,
        cure.steps,
        proposal,
        cure.outside,
        lines,
        cost,
        new,
        cure.back,
    )


def with_formula(cure: Cure, limits: Limits) -> tuple[Cure, Proposal | None]:
    """The formula under the concession; a limit that only just fails on the grid is eased a little more."""
    for tried in _tries(cure):
        answer = search(without_ceilings(tried.request), limits=limits)
        if answer.proposals:
            return tried, replace(answer.proposals[0], heading=UNDER_IT)
    return cure, None


def cures_of(rest: Rest, rule: Rule, tongue: Tongue) -> list[Cure]:
    """Each way in which this rule alone may give way enough; none where it may not, or cannot."""
    if not may_give(rule):
        return []
    found = []
    for side in sides_of(rule):
        limit = rest.nearest(rule, side)
        if limit is not None and limit != side.asked:
            cure = sided_cure(rest.request, rule, side, limit, tongue)
            found.append(replace(cure, further=_strictly(rest, rule, side, tongue)))
    if found or isinstance(rule, Acidity | Absent | Stock):
        return found
    return given_up(rest, rule)


def _strictly(rest: Rest, rule: Rule, side: Side, tongue: Tongue) -> Callable[[], Cure | None]:
    def cure() -> Cure | None:
        limit = rest.strict.nearest(rule, side)
        if limit is None or limit == side.asked:
            return None
        return sided_cure(rest.request, rule, side, limit, tongue, exact=False)

    return cure


def sided_cure(
    request: Request,
    rule: Rule,
    side: Side,
    limit: Fraction,
    tongue: Tongue,
    easing: int = 0,
    *,
    exact: bool = True,
) -> Cure:
    """One limit at a new number, in words; `exact`: nothing nearer will do."""
    to = beyond(limit, side, easing) if easing else limit
    asked, enough = (limit_words(rule, side, value, tongue) for value in (side.asked, to))
    clause = side_words(rule, side, side.asked, tongue)
    rest = f"{enough} would do" if easing or not exact else best_words(rule, side, to, tongue)
    sentence = f"{who(rule)} {clause}; with the other rules as they are, {rest}."
    new = reworded(moved(rule, side, to), side_words(rule, side, to, tongue))

    def easier(times: int) -> Cure:
        return sided_cure(request, rule, side, limit, tongue, times, exact=exact)

    return Cure(
        rule,
        asked,
        enough,
        sentence,
        steps_between(rule, side, to),
        changed(request, rule, new),
        None if easing else easier,
    )


def given_up(rest: Rest, rule: Rule) -> list[Cure]:
    """A rule without a limit to move: does the rest hold without it?"""
    if not rest.without(rule):
        return []
    what = f"{number(rest.request.batch_g)} g" if isinstance(rule, Stock) else ""
    sentence = f"Give up: {rule.head.sentence.rstrip('.')}."
    if isinstance(rule, Clash):
        sentence = f"Put up with it: {rule.head.sentence.rstrip('.')}."
    if what:
        sentence = f"Buy what is missing for {what}: {rule.head.sentence.rstrip('.')}."
    return [
        Cure(
            rule,
            rule.head.sentence,
            WITHOUT,
            sentence,
            STEPS_OF_GIVING_UP,
            changed(rest.request, rule, None),
        )
    ]
