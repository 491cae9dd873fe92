"""The proposals of a request, each judged; or why there are none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.outcome import Proposal, Stage
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Response, Rule
from optimiser.search.apart import Start, Within, farthest, headed
from optimiser.search.certified import proved_bound
from optimiser.search.grid import on_grid
from optimiser.search.proposal import dress
from optimiser.search.settling import near_base, settled
from optimiser.search.stages import NoAnswer, Optimum, StageResult, bent, optimise, predicted
from optimiser.solver.interface import Limits

DEFAULT = Within()
Tell = Callable[[str], None]
OFF_GRID = "possible between the steps, but no formula in whole steps of 0.001 % was found"
UNTOLD = "the prediction of the {} cannot settle this"


@dataclass(frozen=True, slots=True)
class Search:
    """Proposals found (may be none), and what stood in the way of the first."""

    proposals: tuple[Proposal, ...]
    infeasible: bool = False
    off_grid: bool = False
    why: str = ""


def silent(_: str) -> None:
    """Progress nobody reads."""


def search(
    request: Request,
    *,
    alternatives: int = 0,
    within: Within = DEFAULT,
    limits: Limits,
    tell: Tell = silent,
    certify: int = 0,
) -> Search:
    """The best proposal, then up to `alternatives` in all, each as far from all before as `within` allows.

    No two have the same ingredients; the list ends where no other set is left. The wishes and the first
    aim of the best are proved in exact fractions where at most `certify` cases settle it.
    """
    tell("looking for the formula")
    optimum, shares = _found(request, limits, tell)
    if isinstance(optimum, NoAnswer):
        return Search((), optimum.infeasible, False, optimum.why)
    if shares is None:
        why = untold(request)
        return Search((), False, not why, why or OFF_GRID)
    found = [replace(dress(request, shares, optimum.stages), heading="Proposal")]
    if certify:
        tell("proving that none is better")
        found[0] = replace(found[0], stages=_in_fractions(found[0].stages, optimum.stages, certify))
    start = Start.of(request, optimum, within, limits)
    while len(found) < alternatives:
        tell(f"looking for alternative {len(found)}, far from the others")
        another = farthest(start, found, tell)
        if another is None:
            break
        proposal = dress(request, another[1], another[0].stages)
        if not start.is_one(proposal, found):
            break
        found.append(headed(proposal, tuple(found), request))
    return Search(tuple(found))


def _found(
    request: Request, limits: Limits, tell: Tell
) -> tuple[Optimum | NoAnswer, dict[Slot, Fraction] | None]:
    """The optimum and its shares on the grid.

    Rows of a predicted pH are first written at the ionic strength of the base, then of the last answer: rows
    for every strength are stricter than the judge and would move what may stay. They come next, and rows that
    are right at one answer only are written again at the last one; the judge decides.
    """
    if any(predicted(rule) for rule in request.rules):
        near = near_base(request, limits, tell)
        if near is not None:
            return near
    first = optimise(request, limits)
    if not any(bent(rule) for rule in request.rules):
        if isinstance(first, Optimum):
            tell("rounding it to steps that can be weighed, and checking every rule")
            return first, on_grid(request, first, limits)
        if not first.infeasible or not any(predicted(rule) for rule in request.rules):
            return first, None
    return settled(request, first, limits, tell)


def _in_fractions(
    stages: tuple[Stage, ...], results: tuple[StageResult, ...], most: int
) -> tuple[Stage, ...]:
    """Stages up to the first aim with their bounds proved, where that could be done; the rest settle ties."""
    found = list(stages)
    for at, (stage, result) in enumerate(zip(stages, results, strict=True)):
        proof = None if result.rows is None else proved_bound(result.rows, result.values, most)
        if proof is not None:
            found[at] = replace(stage, proved=proof.reached - proof.step, cases=proof.cases)
        if not stage.name.startswith("wishes"):
            break
    return tuple(found)


def untold(request: Request) -> str:
    """Which prediction stands in the way of an answer, in words; nothing where none can."""
    names = sorted({_called(rule) for rule in request.rules if bent(rule)})
    return UNTOLD.format(" and of the ".join(names)) if names else ""


def _called(rule: Rule) -> str:
    return rule.fitted.name if isinstance(rule, Response) else type(rule).__name__.lower()
