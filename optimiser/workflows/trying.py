"""How many batches of a formula, weighed out with the balances of the worktable, would meet every rule."""

from __future__ import annotations

from fractions import Fraction

from optimiser.checks.batches import Weighing, count_batches
from optimiser.domain.outcome import Batches, Proposal
from optimiser.domain.request import Request, Slot
from optimiser.domain.worktable import Balance
from optimiser.search.weigh_plan import TooCoarse, plan_weights
from optimiser.search.weighing import Weight, weigh
from optimiser.solver.interface import Limits

SEED = 0


def try_batches(
    proposal: Proposal, request: Request, balances: tuple[Balance, ...], count: int, limits: Limits
) -> Batches:
    """`count` batches of the request's size, with the weights that a sheet would print.

    Where the balances are too coarse for weights that keep every rule, each line is rounded by itself.
    """
    lines = tuple((Slot(line.ingredient, line.phase), line.percent) for line in proposal.lines)
    plan = plan_weights(request, lines, request.batch_g, balances, limits=limits)
    if isinstance(plan, TooCoarse):
        filler = [slot for slot, _ in lines].index(request.filler)
        weights = weigh([share for _, share in lines], request.batch_g, balances, filler).weights
    else:
        weights = plan.weighing.weights
    weighed = [_weighing(slot, weight, request) for (slot, _), weight in zip(lines, weights, strict=True)]
    return count_batches(request, [one for one in weighed if one.grams], count, SEED)


def _weighing(slot: Slot, weight: Weight, request: Request) -> Weighing:
    """A line dosed to a reading counts at its ceiling, as everywhere; it is not weighed out to the end."""
    if slot in request.dosed:
        return Weighing(slot, weight.grams)
    steps = [weight.reads_g] * weight.portions
    if weight.top_up_g:
        steps.append(Fraction(1, 10**weight.top_up_places))
    return Weighing(slot, weight.grams, tuple(steps))
