"""Which one new ingredient lets most formulas of a range work: one model over all of them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.request import Request
from optimiser.lp import names
from optimiser.lp.build import build
from optimiser.model.rows import Model, Row, Var
from optimiser.requests.narrow import new_only_from
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import solve

ZERO, ONE = Fraction(0), Fraction(1)


@dataclass(frozen=True, slots=True)
class Best:
    """The ingredient ("" where nothing new helps more than nothing) and the formulas, by position, that work.

    No ingredient lets more than `len(works)` work, as far as the rows tell, which ask for no more than the
    judge.
    """

    ingredient: str
    works: tuple[int, ...]


def best_newcomer(
    requests: Sequence[Request], candidates: Sequence[str], limits: Limits, without: Collection[str] = ()
) -> Best | None:
    """One binary a candidate, shared by all formulas; wishes and aims do not count.

    Formulas that work with nothing new are counted at once and left out of the model: no answer changes by
    that. The rows of each other formula are multiplied by its own binary, so that one that does not work asks
    for nothing and no large number is needed. Of candidates that do the same the first in order. None where
    the solver gives no proved answer. `without` are candidates that were tried already.
    """
    open_to = [one for one in candidates if one not in without]
    alone = {number for number, request in enumerate(requests) if _alone(request, limits)}
    rest = [number for number in range(len(requests)) if number not in alone]
    if not rest:
        return Best("", tuple(sorted(alone)))
    answer = solve(joint([requests[number] for number in rest], open_to), limits=limits)
    if answer.outcome is not Outcome.OPTIMAL:
        return None
    chosen = [one for one in open_to if answer.values[_shared(one)] > 1 / 2]
    works = {number for place, number in enumerate(rest) if answer.values[_works(place)] > 1 / 2}
    return Best(chosen[0] if chosen else "", tuple(sorted(works | alone)))


def _alone(request: Request, limits: Limits) -> bool:
    """Whether the formula works with nothing new: then it works whatever comes into the others."""
    return solve(build(new_only_from(_musts(request), ()), lenient=True), limits=limits).has_values


def joint(requests: Sequence[Request], candidates: Sequence[str]) -> Model:
    """Most formulas first, then nothing new before something new, then the first in order."""
    variables = [Var(_shared(one), ZERO, ONE, "B") for one in candidates]
    rows = [Row("one", tuple((_shared(one), ONE) for one in candidates), None, ONE)] if candidates else []
    cost = {_shared(one): Fraction(-1 - n) for n, one in enumerate(candidates)}
    for number, request in enumerate(requests):
        own = build(new_only_from(_musts(request), candidates), lenient=True)
        variables += [Var(_works(number), ZERO, ONE, "B"), *(_own(var, number) for var in own.vars)]
        rows += [one for var in own.vars for one in _bounds(var, number)]
        rows += [one for row in own.rows for one in _switched(row, number)]
        rows += _copies(request, candidates, number)
        cost[_works(number)] = Fraction(len(candidates) + 1)
    return Model("one new ingredient for the range", tuple(variables), tuple(rows), sense="max").with_cost(
        cost
    )


def _musts(request: Request) -> Request:
    return replace(request, rules=tuple(rule for rule in request.rules if rule.head.rank is None))


def _copies(request: Request, candidates: Collection[str], number: int) -> list[Row]:
    """A newcomer is used only where it is the one chosen."""
    return [
        Row(f"{number}|new:{one}", ((_name(names.used(one), number), ONE), (_shared(one), -ONE)), None, ZERO)
        for one in sorted(request.newcomers & set(candidates))
    ]


def _shared(ingredient: str) -> str:
    return f"new:{ingredient}"


def _works(number: int) -> str:
    return f"{number}|works"


def _name(name: str, number: int) -> str:
    return f"{number}|{name}"


def _own(var: Var, number: int) -> Var:
    """The variable of one formula, free to be nothing."""
    low = None if var.lower is None else min(var.lower, ZERO)
    high = None if var.upper is None else max(var.upper, ZERO)
    return replace(var, name=_name(var.name, number), lower=low, upper=high)


def _bounds(var: Var, number: int) -> list[Row]:
    own = Row(_name(f"limit:{var.name}", number), ((var.name, ONE),), var.lower, var.upper)
    return _switched(own, number, named=False)


def _switched(row: Row, number: int, *, named: bool = True) -> list[Row]:
    """The row with its limits multiplied by the formula's binary."""
    coef = tuple((_name(name, number), value) for name, value in row.coef)
    own = _name(row.name, number) if named else row.name
    switch = _works(number)
    found = []
    if row.lower is not None and row.lower == row.upper:
        return [Row(own, (*coef, (switch, -row.lower)), ZERO, ZERO)]
    if row.lower is not None:
        found.append(Row(f"{own}|low", (*coef, (switch, -row.lower)), ZERO, None))
    if row.upper is not None:
        found.append(Row(f"{own}|high", (*coef, (switch, -row.upper)), None, ZERO))
    return found
