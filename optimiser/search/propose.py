"""The proposals of a request, each judged; or why there are none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request, Slot
from optimiser.lp import names
from optimiser.model.rows import Row
from optimiser.search.grid import on_grid
from optimiser.search.proposal import dress
from optimiser.search.settling import near_base, settled
from optimiser.search.stages import NoAnswer, Optimum, bent, optimise, predicted
from optimiser.solver.interface import Limits

ONE = Fraction(1)
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


def search(request: Request, *, alternatives: int = 0, limits: Limits, tell: Tell = silent) -> Search:
    """Up to `alternatives` proposals (at least the best) whose newcomers differ.

    An alternative that departs more than twice as far as the best (and more than two newcomers' worth) is no
    alternative and ends the list.
    """
    found: list[Proposal] = []
    cuts: list[Row] = []
    while len(found) < max(alternatives, 1):
        tell("looking for the formula" if not found else f"looking for alternative {len(found)}")
        optimum, shares = _found(request, limits, cuts, tell)
        if isinstance(optimum, NoAnswer):
            if found:
                break
            return Search((), optimum.infeasible, False, optimum.why)
        if shares is None:
            if found:
                break
            why = untold(request)
            return Search((), False, not why, why or OFF_GRID)
        proposal = dress(request, shares, optimum.stages)
        if found and _too_far(proposal, found[0], request):
            break
        found.append(proposal)
        cuts.append(_another_set(proposal, request, len(cuts)))
    return Search(tuple(_headed(p, found[0], request) for p in found))


def _found(
    request: Request, limits: Limits, cuts: list[Row], tell: Tell
) -> tuple[Optimum | NoAnswer, dict[Slot, Fraction] | None]:
    """The optimum and its shares on the grid.

    Rows of a predicted pH are first written at the ionic strength of the base, then of the last answer: rows
    for every strength are stricter than the judge and would move what may stay. They come next, and rows that
    are right at one answer only are written again at the last one; the judge decides.
    """
    if any(predicted(rule) for rule in request.rules):
        near = near_base(request, limits, cuts, tell)
        if near is not None:
            return near
    first = optimise(request, limits, cuts)
    if not any(bent(rule) for rule in request.rules):
        if isinstance(first, Optimum):
            tell("putting it on the grid and judging it")
            return first, on_grid(request, first, limits)
        if not first.infeasible or not any(predicted(rule) for rule in request.rules):
            return first, None
    return settled(request, first, limits, cuts, tell)


def untold(request: Request) -> str:
    """Which prediction stands in the way of an answer, in words; nothing where none can."""
    names = sorted({type(rule).__name__.lower() for rule in request.rules if bent(rule)})
    return UNTOLD.format(" and of the ".join(names)) if names else ""


def _departure(proposal: Proposal) -> Fraction:
    return sum((part for _, part in proposal.departure_parts), Fraction(0))


def _too_far(proposal: Proposal, first: Proposal, request: Request) -> bool:
    allowed = max(2 * _departure(first), _departure(first) + 2 * request.weights.newcomer)
    return _departure(proposal) > allowed


def _came(proposal: Proposal, request: Request) -> tuple[str, ...]:
    return tuple(sorted({line.ingredient for line in proposal.lines} & request.newcomers))


def _another_set(proposal: Proposal, request: Request, number: int) -> Row:
    """Leaves out at least one newcomer of this answer, or brings one when it had none."""
    came = _came(proposal, request)
    if came:
        coef = tuple((names.used(i), ONE) for i in came)
        return Row(f"cut:{number}", coef, None, Fraction(len(came) - 1), "cut", "another set of newcomers")
    coef = tuple((names.used(i), ONE) for i in sorted(request.newcomers))
    return Row(f"cut:{number}", coef, ONE, None, "cut", "at least one newcomer")


def _headed(proposal: Proposal, first: Proposal, request: Request) -> Proposal:
    if proposal is first:
        return replace(proposal, heading="Proposal")
    mine, others = ({line.ingredient for line in p.lines} for p in (proposal, first))
    names_of = request.ingredients
    more = ", ".join(names_of[i].name for i in sorted(mine - others))
    less = ", ".join(names_of[i].name for i in sorted(others - mine))
    parts = [f"with {more}" if more else "", f"without {less}" if less else ""]
    return replace(proposal, heading="Alternative " + " and ".join(part for part in parts if part))
