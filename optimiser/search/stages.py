"""Solves a request stage by stage; each stage is held for the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Acidity, Covers, Forecast, Response, Rule, Thickness
from optimiser.lp import names
from optimiser.lp.aims import Objective, objectives, wish_cost
from optimiser.lp.build import build
from optimiser.lp.scope import Scope
from optimiser.model.rows import Model, Row, Var
from optimiser.solver.columns import Newcomer
from optimiser.solver.interface import Limits, Outcome, Solution
from optimiser.solver.screening import screen
from optimiser.solver.solving import solve

HOLD = Fraction(1, 10**6)
"""Slack by which a stage is held for the next; a larger one changes printed formulas."""
HELD = "aim:held:"
SCREENING = 8
"""Each of the models (seven at most) that tell who can never enter has this part of a stage's seconds."""


@dataclass(frozen=True, slots=True)
class StageResult:
    """What a stage reached in the model, and the bound that was proved.

    `rows` is the model, with its cost, that the bound speaks of, and `values` its answer.
    """

    name: str
    unit: str
    objective: Objective
    value: float
    bound: float
    optimal: bool
    rows: Model | None = None
    values: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Optimum:
    """The model with every stage held, its last answer, and the stages' results.

    Variables that are `out` are nought in every answer as good; the model has them still.
    """

    model: Model
    values: Mapping[str, float]
    stages: tuple[StageResult, ...]
    out: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class NoAnswer:
    """No optimum: infeasible at the first stage, or the solver gave up (`why`)."""

    infeasible: bool
    why: str


def predicted(rule: Rule) -> bool:
    """Whether the judge has a full model where the rows have a straight line."""
    return (isinstance(rule, Acidity | Thickness) and rule.predicted) or bent(rule)


def bent(rule: Rule) -> bool:
    """Whether the rows are right at one answer only and have to be written again at the next."""
    if isinstance(rule, Forecast):
        return rule.predicted and rule.of == "hlb"
    if isinstance(rule, Response):
        return rule.bends
    return isinstance(rule, Thickness) and rule.predicted


def optimise(request: Request, limits: Limits, incumbent: Incumbent | None = None) -> Optimum | NoAnswer:
    """All stages of the request.

    `incumbent` is the answer at which rows that are not linear are written; without it, the base.
    """
    model = build(request, incumbent=incumbent)
    values: Mapping[str, float] = {}
    results: list[StageResult] = []
    out: frozenset[str] = frozenset()
    for objective in objectives(request):
        if objective.name == "tie":
            model_now, answer = settle_tie(model.without_vars(out), objective, values, limits)
            answer = _with_noughts(answer, out)
        else:
            model_now, answer, out = _solved(_extended(model, objective), objective, request, out, limits)
        if answer.outcome is Outcome.INFEASIBLE and not results:
            return NoAnswer(True, "no formula meets every must")
        if answer.objective is None:
            if objective.name == "tie":
                break
            return _lost(objective, answer)
        values = answer.values
        if objective.name == "tie":
            break
        result = _result(objective, answer, model_now.with_cost(_cost_of(objective, request, model_now)))
        results.append(_outer_bound(result, request, limits) if not results else result)
        model = held(model_now, objective, _cost_of(objective, request, model_now), answer.objective)
    return Optimum(model, values, tuple(results), out)


def _lost(objective: Objective, answer: Solution) -> NoAnswer:
    """An answer that an earlier stage had by the solver's tolerance alone: fractions have to say."""
    why = f"the solver gave no answer at the stage '{objective.name}' ({answer.outcome.value})"
    return NoAnswer(answer.outcome is Outcome.INFEASIBLE, why)


def _solved(
    model: Model, objective: Objective, request: Request, out: frozenset[str], limits: Limits
) -> tuple[Model, Solution, frozenset[str]]:
    """The stage's model, its answer, what is out; held less tightly where that leaves none."""
    costed = model.with_cost(_cost_of(objective, request, model))
    answer, out = answered(costed, newcomers_of(request), out, limits)
    if answer.outcome is Outcome.INFEASIBLE:
        eased = _eased(model)
        if eased != model:
            costed = eased.with_cost(_cost_of(objective, request, eased))
            return eased, solve(costed, limits=limits), frozenset()
    return model, answer, out


def answered(
    model: Model, newcomers: Sequence[Newcomer], out: frozenset[str], limits: Limits
) -> tuple[Solution, frozenset[str]]:
    """The best answer, and the variables that are nought in it and in all that is as good.

    In a large model the newcomers that can never enter are left out first.
    """
    small = model.without_vars(out)
    share = limits if limits.seconds is None else replace(limits, seconds=limits.seconds / SCREENING)
    more = screen(small, [one for one in newcomers if one.flag not in out], share)
    if more:
        out |= more
        small = model.without_vars(out)
    return _with_noughts(solve(small, limits=limits), out), out


def _with_noughts(answer: Solution, out: frozenset[str]) -> Solution:
    """The answer with what was left out at nought."""
    if not out or not answer.values:
        return answer
    return replace(answer, values={**dict.fromkeys(sorted(out), 0.0), **answer.values})


def newcomers_of(request: Request) -> tuple[Newcomer, ...]:
    """The ingredients that the base lacks and that have one place."""
    own = request.formula.ingredients
    covered = sorted({rule.group for rule in request.rules if isinstance(rule, Covers)})

    def newcomer(name: str, slot: Slot) -> Newcomer:
        group = request.ingredients[name].group
        doses = tuple(names.doses(by, name) for by in covered) if group == "preservative" else ()
        return Newcomer(names.used(name), names.share(slot), group, doses)

    return tuple(
        newcomer(name, slots[0])
        for name, slots in sorted(Scope(request).slots_of.items())
        if name not in own and len(slots) == 1
    )


def _eased(model: Model) -> Model:
    """Stages held with a slack for the solver's tolerance: a wish with a tiny limit counts by the million."""

    def looser(row: Row) -> Row:
        most = max((abs(cost) for _, cost in row.coef), default=Fraction(1))
        if not row.name.startswith(HELD) or row.upper is None or most <= 1:
            return row
        return replace(row, upper=row.upper + HOLD * most)

    return replace(model, rows=tuple(looser(row) for row in model.rows))


def wishes_held(request: Request, limits: Limits, incumbent: Incumbent | None = None) -> Model | NoAnswer:
    """The rows of the request with every wish met as well as it can be, rank by rank; no aim yet."""
    model = build(request, incumbent=incumbent)
    for objective in objectives(request):
        if not objective.name.startswith("wishes of rank "):
            break
        cost = _cost_of(objective, request, model)
        answer = solve(model.with_cost(cost), limits=limits)
        if answer.objective is None:
            return NoAnswer(answer.outcome is Outcome.INFEASIBLE, f"the solver says {answer.outcome.value}")
        model = held(model, objective, cost, answer.objective)
    return model


def extended(model: Model, objective: Objective) -> Model:
    """The model with the rows and variables that an objective needs."""
    return _extended(model, objective)


def _extended(model: Model, objective: Objective) -> Model:
    known = {var.name for var in model.vars}
    fresh = tuple(var for var in objective.vars if var.name not in known)
    rows = {row.name for row in model.rows}
    return _with_vars(model, fresh).with_rows(tuple(row for row in objective.rows if row.name not in rows))


def _with_vars(model: Model, fresh: tuple[Var, ...]) -> Model:
    return replace(model, vars=(*model.vars, *fresh))


def _cost_of(objective: Objective, request: Request, model: Model) -> dict[str, Fraction]:
    if objective.name.startswith("wishes of rank "):
        return wish_cost(request, model, int(objective.name.removeprefix("wishes of rank ")))
    return objective.cost


def _result(objective: Objective, answer: Solution, rows: Model) -> StageResult:
    value = answer.objective if answer.objective is not None else 0.0
    bound = answer.bound if answer.bound is not None else value
    optimal = answer.outcome is Outcome.OPTIMAL
    return StageResult(objective.name, objective.unit, objective, value, bound, optimal, rows, answer.values)


def _outer_bound(result: StageResult, request: Request, limits: Limits) -> StageResult:
    """Where rows are stricter than the judge (a prediction), the bound comes from rows that are not."""
    if not any(predicted(rule) for rule in request.rules):
        return result
    model = _extended(build(request, lenient=True), result.objective)
    rows = model.with_cost(_cost_of(result.objective, request, model))
    answer, _ = answered(rows, newcomers_of(request), frozenset(), limits)
    if answer.bound is None:
        return replace(result, bound=0.0, optimal=False, rows=None)
    bound = min(result.bound, answer.bound)
    return replace(result, bound=bound, rows=rows if answer.has_values else None, values=answer.values)


def held(model: Model, objective: Objective, cost: dict[str, Fraction], value: float) -> Model:
    """The stage's value as a row: whole numbers at value + 1/2, others a millionth above."""
    exact = Fraction(round(value)) + Fraction(1, 2) if objective.whole else Fraction(repr(value)) + HOLD
    row = Row(f"{HELD}{objective.name}", tuple(sorted(cost.items())), None, exact, "aim", objective.name)
    return model.with_rows((row,))


def settle_tie(
    model: Model, objective: Objective, values: Mapping[str, float], limits: Limits
) -> tuple[Model, Solution]:
    """With every whole number as it is, the lightest answer by id: an LP."""
    whole = {name: Fraction(round(values[name])) for name in model.whole}
    there = {var.name for var in model.vars}
    cost = {name: weight for name, weight in objective.cost.items() if name in there}
    fixed = model.with_bounds({name: (value, value) for name, value in whole.items()})
    return fixed, solve(fixed.with_cost(cost), limits=limits)
