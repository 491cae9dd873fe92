"""Ways out beyond what was asked: another adjuster for the pH, a finer balance, a bigger batch."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.outcome import Concession
from optimiser.domain.request import GRID, Request
from optimiser.domain.rules import Acidity, Rule
from optimiser.explain.giving import STEPS_OF_ALLOWING, STEPS_OF_ONE_MORE, is_ceiling
from optimiser.explain.quick import made_of, quick_formula
from optimiser.explain.rest import Rest
from optimiser.lp import names
from optimiser.lp.build import build
from optimiser.requests.sentences import number
from optimiser.search.grid import judged_in_steps, nearest_in_steps
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits

Again = Callable[[str], Request | None]
"""The same request with one ingredient of the base left out as well; None where that cannot be asked."""
FINER = (10, 100)


def outside(
    request: Request, members: Iterable[Rule], limits: Limits, again: Again | None
) -> tuple[Concession, ...]:
    """Each with a formula that the judge passed; none where nothing was found."""
    rules = tuple(members)
    if again is None or not any(isinstance(rule, Acidity) or is_ceiling(rule) for rule in rules):
        return ()
    found = []
    for slot in sorted(request.dosed):
        if slot in request.fixed:
            other = _another_adjuster(request, slot.ingredient, rules[0], limits, again)
            found += [other] if other is not None else []
    return tuple(found)


def _another_adjuster(
    request: Request, own: str, rule: Rule, limits: Limits, again: Again
) -> Concession | None:
    """The pH set with another acid or alkali instead of the base's own."""
    other = again(own)
    if other is None or Rest(other, limits).solved(build(other, lenient=True)).objective is None:
        return None
    made = quick_formula(other, limits)
    if made is None:
        return None
    there = {slot.ingredient for slot in other.dosed}
    used = [other.ingredients[name].name for name, _ in made.lines if name in there]
    if not used:
        return None
    own_name = request.ingredients[own].name
    words = f"set the pH with {' and '.join(used)} instead of {own_name}"
    return Concession(
        rule,
        "",
        words,
        f"Beyond what you asked: {words}.",
        STEPS_OF_ALLOWING,
        None,
        True,
        made.lines,
        made.cost_per_kg,
        leave=own,
    )


def finer_grid(request: Request, limits: Limits) -> tuple[Concession, ...]:
    """Where only whole steps stand in the way: steps so fine that a formula is found, and what they take."""
    if request.grid is None or not request.rules:
        return ()
    wishes = {rule.head.id for rule in request.rules if rule.head.rank is not None}
    model = build(request, without=wishes)
    answer = solve_milp(model, limits)
    if not answer.has_values:
        return ()
    aims = {
        names.share(slot): Fraction(repr(max(answer.values[names.share(slot)], 0.0)))
        for slot in request.slots
    }
    for times in FINER:
        grid = GRID / times
        finer = replace(request, grid=grid)
        steps = {names.share(slot): grid for slot in request.slots}
        stepped = nearest_in_steps(model, steps, aims)
        shares = judged_in_steps(finer, stepped, dict.fromkeys(request.slots, grid), limits)
        if shares is not None:
            made = made_of(finer, shares)
            words = f"weigh in steps of {number(grid)} %"
            sentence = (
                f"Beyond what you asked: in steps of {number(grid)} % it is possible. That takes a balance "
                f"{times} times as fine, or on the same balance a batch of "
                f"{number(request.batch_g * times)} g."
            )
            rule = min(request.rules, key=lambda r: r.head.id)
            return (
                Concession(
                    rule,
                    f"steps of {number(GRID)} %",
                    words,
                    sentence,
                    STEPS_OF_ONE_MORE,
                    None,
                    True,
                    made.lines,
                    made.cost_per_kg,
                ),
            )
    return ()
