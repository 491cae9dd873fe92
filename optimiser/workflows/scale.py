"""One saved proposal at several sizes: what is weighed, how many jars, what a jar costs, what to mind."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from optimiser.domain.costs import Costs, JarCost
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.loading.batches import read_batches
from optimiser.loading.proposals import read_proposal
from optimiser.requests.sentences import number
from optimiser.requests.sources import Sources
from optimiser.search.proposal import dress
from optimiser.search.weighing import Weight
from optimiser.workflows.buy import jar_cost
from optimiser.workflows.sheet import first_of_size, reopened
from optimiser.workflows.volumes import batch_grams
from optimiser.workflows.weigh import Weighed, weigh_out
from optimiser.workflows.worktable import home_of, open_worktable

SLOW = Fraction(5)
"""Times a size from which heating, cooling and stirring are another matter (common practice)."""


@dataclass(frozen=True, slots=True)
class Size:
    """One size: the weights line by line in the order of the sheet, or why it cannot be weighed out."""

    batch_g: Fraction
    weights: tuple[Weight, ...]
    jar: JarCost | None
    minds: tuple[str, ...]
    not_weighed: str = ""


@dataclass(frozen=True, slots=True)
class Scaled:
    """`lines` are (name, % w/w); each size has one weight for each."""

    title: str
    currency: str
    lines: tuple[tuple[str, Fraction], ...]
    sizes: tuple[Size, ...]


def scale(proposal: Path, sizes: tuple[str, ...]) -> Scaled:
    """The proposal at each of the sizes as typed ("250 g", "5 kg", "20 jars").

    Raises UsageError, DataError or OptimiserError.
    """
    sources = open_worktable(home_of(proposal))
    saved, problems = read_proposal(proposal, sources.worktable, sources.vocabulary)
    if saved is None:
        raise DataError(problems)
    settings, costs = sources.worktable.settings, sources.worktable.costs
    request, shares = reopened(sources, saved, saved.batch_g)
    cost = dress(request, shares, ()).cost_per_kg
    made = _largest(sources, saved.formula, saved.batch_g)
    lines: tuple[tuple[str, Fraction], ...] = ()
    found = []
    for text in sizes:
        grams = grams_of(text, costs, sources)
        try:
            done = weigh_out(lambda size: reopened(sources, saved, size), grams, settings.balances)
        except OptimiserError as fault:
            found.append(Size(grams, (), None, (), f"{fault.what}; {fault.fix}"))
            continue
        lines = tuple((request.ingredients[slot.ingredient].name, share) for slot, share in done.lines)
        jar = (
            jar_cost(costs, cost, grams) if costs.jar and cost is not None and _fills(costs, grams) else None
        )
        found.append(Size(done.plan.weighing.batch_g, done.plan.weighing.weights, jar, _minds(done, made)))
    return Scaled(saved.name, settings.currency, lines, tuple(found))


def grams_of(text: str, costs: Costs, sources: Sources) -> Fraction:
    """Grams of "5 kg", or of "20 jars" with what is filled on top and what the pots keep."""
    words = text.split()
    if len(words) == 2 and words[1].casefold() in ("jar", "jars") and words[0].isdigit():
        if costs.jar is None:
            raise UsageError(
                "costs.yaml says nothing of a jar", "write jar: {holds: 100 g}, or give a weight"
            )
        return batch_for_jars(costs, int(words[0]))
    return batch_grams(text, sources.worktable.settings.decimal)


def batch_for_jars(costs: Costs, jars: int) -> Fraction:
    """The batch that fills so many jars, in whole grams upward. Raises UsageError without a jar."""
    if costs.jar is None or jars < 1:
        raise UsageError("a number of jars needs jar: in costs.yaml, and one jar or more", "give a weight")
    each = costs.jar.holds_g + costs.jar.extra_g
    return Fraction(-(-jars * each / (1 - costs.waste) // 1))


def _fills(costs: Costs, grams: Fraction) -> bool:
    jar = costs.jar
    return jar is not None and grams * (1 - costs.waste) >= jar.holds_g + jar.extra_g


def _largest(sources: Sources, formula: str, usual: Fraction) -> Fraction:
    batches, _ = read_batches(Path(sources.worktable.folder))
    return max((usual, *(one.grams for one in batches if one.formula == formula)))


def _minds(done: Weighed, made: Fraction) -> tuple[str, ...]:
    """What changes with the size beside the amounts."""
    weighing = done.plan.weighing
    names = {slot: done.request.ingredients[slot.ingredient].name for slot, _ in done.lines}
    pairs = list(zip((slot for slot, _ in done.lines), weighing.weights, strict=True))
    found = [
        f"{names[slot]}: under ten steps of the balance"
        for slot, weight in pairs
        if weight.smallest_batch_g is not None and weight.stock_g is None
    ]
    found += [
        f"{names[slot]}: more than the balance carries, {weight.portions} portions"
        for slot, weight in pairs
        if weight.portions > 1
    ]
    said = first_of_size(weighing.batch_g, made)
    return (*found, *([said] if said else []))


def described(size: Size) -> str:
    """`2125 g, 20 jars`."""
    jars = f", {size.jar.jars} jars" if size.jar else ""
    return f"{number(size.batch_g)} g{jars}"
