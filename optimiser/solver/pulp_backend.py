"""A model through PuLP to CBC, the second opinion, under names of our own making.

PuLP turns several characters of a name into one, so `vitamin-e` and `vitamin e` would become the same
variable: variables and rows are called x0001… and r0001… there, in the order of their sorted names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from optimiser.errors import SolverError
from optimiser.model.rows import Model, Row
from optimiser.solver.interface import NO_LIMITS, Limits, Outcome, Solution, as_float

CBC_OPTIONS = ["randomSeed 1", "randomCbcSeed 1", "preprocess off", "heuristics off"]
"""With preprocessing CBC 2.10.3 called a worse answer optimal, or lost it, on one random model in 250; with
heuristics it did the former still, on one in some hundred with twins among the ingredients."""


@dataclass(frozen=True, slots=True)
class Built:
    """A PuLP problem, its variables by our names, and for each PuLP row the row of ours it stands for."""

    problem: Any
    columns: Mapping[str, Any]
    rows: Mapping[str, str]


def build(model: Model) -> Built:
    """The PuLP problem of a model; a row with two limits becomes two rows there, a free row none."""
    import pulp

    sense = pulp.LpMaximize if model.sense == "max" else pulp.LpMinimize
    problem = pulp.LpProblem("model", sense)
    ordered = sorted(model.vars, key=lambda v: v.name)
    columns = {
        var.name: problem.add_variable(
            f"x{i:04d}",
            _limit(var.lower),
            _limit(var.upper),
            pulp.LpContinuous if var.kind == "C" else pulp.LpInteger,
        )
        for i, var in enumerate(ordered, start=1)
    }
    nought = {var.name: Fraction(0) for var in ordered}
    problem.setObjective(_expression(tuple({**nought, **dict(model.cost)}.items()), columns))
    rows: dict[str, str] = {}
    for i, row in enumerate(sorted(model.rows, key=lambda r: r.name), start=1):
        for name, sign, limit in _halves(f"r{i:04d}", row):
            expression = _expression(row.coef, columns)
            problem.addConstraint(pulp.LpConstraint(expression, sign, rhs=as_float(limit)), name)
            rows[name] = row.name
    return Built(problem, columns, rows)


def _expression(coef: tuple[tuple[str, Fraction], ...], columns: Mapping[str, Any]) -> Any:
    import pulp

    return pulp.LpAffineExpression({columns[name]: as_float(value) for name, value in coef})


def _halves(name: str, row: Row) -> list[tuple[str, int, Fraction]]:
    if row.lower is not None and row.lower == row.upper:
        return [(name, 0, row.lower)]
    halves = []
    if row.lower is not None:
        halves.append((name, 1, row.lower))
    if row.upper is not None:
        halves.append((f"{name}u" if row.lower is not None else name, -1, row.upper))
    return halves


def _limit(value: Fraction | None) -> float | None:
    return None if value is None else as_float(value)


def solve_by_cbc(model: Model, limits: Limits = NO_LIMITS) -> Solution:
    """The model with its whole variables; gap 0, one thread, seed 1, silent."""
    built = build(model)
    outcome, note = _run_cbc(built, limits)
    if outcome not in (Outcome.OPTIMAL, Outcome.FEASIBLE):
        return Solution(outcome, note=note)
    values = {name: _value(column) for name, column in built.columns.items()}
    constant = as_float(model.constant)
    objective = constant + sum(as_float(coef) * values[name] for name, coef in model.cost)
    bound = objective if outcome is Outcome.OPTIMAL else None
    return Solution(outcome, objective, values, bound, note=note)


def _run_cbc(built: Built, limits: Limits) -> tuple[Outcome, str]:
    """What CBC says; a crash (it has them on models without an answer) says nothing."""
    import pulp

    path = pulp.PULP_CBC_CMD.pulp_cbc_path
    solver = pulp.COIN_CMD(
        path=path,
        msg=False,
        threads=1,
        gapRel=0,
        gapAbs=0,
        timeLimit=limits.seconds,
        maxNodes=limits.nodes,
        options=CBC_OPTIONS,
    )
    if not solver.available():
        raise SolverError("CBC is not there", "use HiGHS")
    problem = built.problem
    try:
        problem.solve(solver)
    except pulp.PulpSolverError as fault:
        return Outcome.UNKNOWN, f"CBC stopped: {fault}"
    if problem.status == pulp.LpStatusInfeasible:
        return Outcome.INFEASIBLE, pulp.LpStatus[problem.status]
    outcome = {
        pulp.LpSolutionOptimal: Outcome.OPTIMAL,
        pulp.LpSolutionIntegerFeasible: Outcome.FEASIBLE,
        pulp.LpSolutionUnbounded: Outcome.UNBOUNDED,
    }.get(problem.sol_status, Outcome.UNKNOWN)
    return outcome, pulp.LpSolution[problem.sol_status]


def _value(column: Any) -> float:
    """The value, or for a variable in no row and no cost the limit nearest nought."""
    if column.varValue is not None:
        return float(column.varValue)
    low, high = column.lowBound, column.upBound
    return float(max(low if low is not None else 0.0, min(0.0, high if high is not None else 0.0)))
