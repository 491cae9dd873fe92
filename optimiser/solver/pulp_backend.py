"""A model through PuLP, to HiGHS or to CBC, under names of our own making.

PuLP turns several characters of a name into one, so `vitamin-e` and `vitamin e` would become the same
variable: variables and rows are called x0001… and r0001… there, in the order of their sorted names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

from optimiser.errors import SolverError
from optimiser.model.rows import Model, Row
from optimiser.solver.highs import NO_LIMITS, quiet_highs
from optimiser.solver.interface import Limits, Outcome, Solution, as_float, plain_contradiction
from optimiser.solver.reading import read_solution

Engine = Literal["highs", "cbc"]
CBC_OPTIONS = ["randomSeed 1", "randomCbcSeed 1", "preprocess off", "heuristics off"]
"""With preprocessing CBC 2.10.3 called a worse answer optimal, or lost it, on one random model in 250; with
heuristics it did the former still, on one in some hundred with twins among the ingredients."""


@dataclass(frozen=True, slots=True)
class Built:
    """A PuLP problem, its variables by our names, and for each PuLP row the row of ours it stands for."""

    problem: Any
    columns: Mapping[str, Any]
    rows: Mapping[str, str]


def solve(model: Model, *, engine: Engine = "highs", limits: Limits = NO_LIMITS) -> Solution:
    """Solve the model with its whole variables; gap 0, one thread, seed 0, silent."""
    if contradiction := plain_contradiction(model):
        return Solution(Outcome.INFEASIBLE, note=contradiction)
    if not model.vars:
        constant = as_float(model.constant)
        return Solution(Outcome.OPTIMAL, constant, {}, constant)
    built = build(model)
    return _by_highs(model, built, limits) if engine == "highs" else _by_cbc(model, built, limits)


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


def _by_highs(model: Model, built: Built, limits: Limits) -> Solution:
    """PuLP builds, HiGHS runs, and HiGHS' own status is read: PuLP calls a time limit 'Optimal'."""
    import pulp

    highs = built.problem.solverModel = quiet_highs(model)
    if limits.seconds is not None:
        highs.setOptionValue("time_limit", float(limits.seconds))
    if limits.nodes is not None:
        highs.setOptionValue("mip_max_nodes", limits.nodes)
    solver = pulp.HiGHS(msg=False)
    solver.buildSolverModel(built.problem)
    solver.callSolver(built.problem)
    by_index = {column.index: name for name, column in built.columns.items()}
    names = tuple(by_index[i] for i in range(len(by_index)))
    flip = -1.0 if model.sense == "max" else 1.0
    found = read_solution(highs, names, tuple(built.rows), flip, bool(model.whole))
    return _with_constant(model, _in_our_rows(model, built, found))


def _in_our_rows(model: Model, built: Built, found: Solution) -> Solution:
    """Duals by our rows, those of a row's two halves added up; basis and ray belong to PuLP's rows and go."""
    if found.duals is None:
        return replace(found, basis=None, ray=None)
    duals = {row.name: 0.0 for row in model.rows}
    for name, value in found.duals.items():
        duals[built.rows[name]] += value
    return replace(found, duals=duals, basis=None, ray=None)


def _by_cbc(model: Model, built: Built, limits: Limits) -> Solution:
    outcome, note = _run_cbc(built, limits)
    if outcome not in (Outcome.OPTIMAL, Outcome.FEASIBLE):
        return Solution(outcome, note=note)
    values = {name: _value(column) for name, column in built.columns.items()}
    objective = sum(as_float(coef) * values[name] for name, coef in model.cost)
    bound = objective if outcome is Outcome.OPTIMAL else None
    return _with_constant(model, Solution(outcome, objective, values, bound, note=note))


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


def _with_constant(model: Model, found: Solution) -> Solution:
    constant = as_float(model.constant)
    return replace(
        found,
        objective=None if found.objective is None else found.objective + constant,
        bound=None if found.bound is None else found.bound + constant,
    )
