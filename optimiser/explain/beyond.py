"""A request that only fails where trials taught nothing: outside what can be predicted, never impossible."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimiser.checks.responses import OUTSIDE, trials_of
from optimiser.domain.outcome import Undecided, Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Response
from optimiser.explain.concession import Cure, concessions, cures_of, sided_cure
from optimiser.explain.conflict import UnsureError, find_conflict, hard_model
from optimiser.explain.giving import may_give, sides_of, with_ceilings
from optimiser.explain.rest import Rest
from optimiser.explain.words import Tongue
from optimiser.requests.predicting_responses import is_bound, unpredicted
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import solve


def bare(request: Request) -> Request:
    """The request without what was fitted and the bounds that come with it."""
    return replace(request, rules=unpredicted(request.rules))


def beyond_trials(request: Request, base: tuple[Verdict, ...], limits: Limits) -> Undecided | None:
    """What is said where the other rules alone leave a formula; None where they leave none.

    The nearest limit of each response comes with it, where one gives a formula the judge passes.
    """
    musts = [r for r in request.rules if isinstance(r, Response) and r.predicted and r.head.rank is None]
    if not musts or solve(hard_model(bare(request)), limits=limits).outcome is Outcome.INFEASIBLE:
        return None
    names = " and ".join(dict.fromkeys(rule.fitted.name for rule in musts))
    trials = " and ".join(dict.fromkeys(trials_of(rule.fitted) for rule in musts))
    told = _clash(request, limits)
    why = (
        f"{OUTSIDE}: within what {trials} had, no formula was found with the {names} asked for; "
        f"beyond them nothing is known, and a trial further out would tell{told}"
    )
    cures = [cure for rule in musts for cure in _cures(request, rule, limits)]
    return Undecided(request, base, why, concessions=concessions(cures, limits))


def _clash(request: Request, limits: Limits) -> str:
    """Which rule a bound of the trials stands against, where no limit of a response is to blame."""
    rules = tuple(r for r in request.rules if not (isinstance(r, Response) and r.predicted))
    bounded = replace(request, rules=rules)
    if solve(hard_model(bounded), limits=limits).outcome is not Outcome.INFEASIBLE:
        return ""
    try:
        found = find_conflict(bounded, limits)
    except UnsureError:
        return ""
    bounds = [rule.head.sentence.rstrip(".") for rule in found.rules if is_bound(rule)]
    others = [rule.head.sentence.rstrip(".") for rule in found.rules if not is_bound(rule)]
    return f". What stands against them: {'; '.join(others)} – {'; '.join(bounds)}"


def _cures(request: Request, rule: Response, limits: Limits) -> Iterator[Cure]:
    """The nearest limit: exactly where the rows are straight, else by rows written at the base."""
    rest, tongue = Rest(with_ceilings(request), limits), Tongue(request)
    if not rule.bends:
        yield from (cure for cure in cures_of(rest, rule, tongue) if cure.enough != "without it")
        return
    for side in sides_of(rule) if may_give(rule) else ():
        limit = rest.strict.nearest(rule, side)
        if limit is not None and limit != side.asked:
            yield sided_cure(rest.request, rule, side, limit, tongue, exact=False)
