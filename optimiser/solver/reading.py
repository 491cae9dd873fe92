"""What HiGHS found, in our names."""

from __future__ import annotations

from typing import Any

from optimiser.model.basis import Basis, Standing
from optimiser.solver.interface import Outcome, Solution


def read_solution(
    highs: Any,
    names: tuple[str, ...],
    rows: tuple[str, ...],
    flip: float,
    milp: bool,
    *,
    bare: bool = False,
) -> Solution:
    """What HiGHS found, in names; `flip` is −1 where the cost was turned to be minimised."""
    import highspy

    statuses = highspy.HighsModelStatus
    status = highs.getModelStatus()
    if status == statuses.kUnboundedOrInfeasible:
        highs.setOptionValue("presolve", "off")
        highs.run()
        status = highs.getModelStatus()
    info = highs.getInfo()
    note = highs.modelStatusToString(status)
    nodes = max(0, int(info.mip_node_count)) if milp else 0
    closed = {statuses.kInfeasible: Outcome.INFEASIBLE, statuses.kUnbounded: Outcome.UNBOUNDED}
    if status in closed:
        ray = None if milp else _ray(highs, rows, status == statuses.kInfeasible)
        basis = None if milp or bare else _basis(highs, names, rows)
        return Solution(closed[status], nodes=nodes, basis=basis, ray=ray, note=note)
    bound = _finite(flip * info.mip_dual_bound) if milp else None
    has_point = info.primal_solution_status == int(highspy.SolutionStatus.kSolutionStatusFeasible)
    if status != statuses.kOptimal and not has_point:
        return Solution(Outcome.UNKNOWN, bound=bound, nodes=nodes, note=note)
    return _found(
        highs,
        names,
        rows,
        flip,
        milp,
        Outcome.OPTIMAL if status == statuses.kOptimal else Outcome.FEASIBLE,
        (bound, nodes, note),
        bare,
    )


def _found(
    highs: Any,
    names: tuple[str, ...],
    rows: tuple[str, ...],
    flip: float,
    milp: bool,
    outcome: Outcome,
    rest: tuple[float | None, int, str],
    bare: bool,
) -> Solution:
    bound, nodes, note = rest
    solution = highs.getSolution()
    objective = flip * float(highs.getInfo().objective_function_value)
    values = dict(zip(names, (float(v) for v in solution.col_value), strict=True))
    if milp or outcome is not Outcome.OPTIMAL:
        return Solution(outcome, objective, values, bound, nodes, note=note)
    duals = dict(zip(rows, (flip * float(v) for v in solution.row_dual), strict=True))
    reduced = dict(zip(names, (flip * float(v) for v in solution.col_dual), strict=True))
    basis = None if bare else _basis(highs, names, rows)
    return Solution(outcome, objective, values, objective, nodes, duals, reduced, basis, note=note)


def _basis(highs: Any, names: tuple[str, ...], rows: tuple[str, ...]) -> Basis | None:
    import highspy

    found = highs.getBasis()
    if not found.valid:
        return None
    kinds = highspy.HighsBasisStatus
    words: dict[Any, Standing] = {kinds.kBasic: "basic", kinds.kLower: "lower", kinds.kUpper: "upper"}
    return Basis(
        {name: words.get(s, "zero") for name, s in zip(names, found.col_status, strict=True)},
        {name: words.get(s, "zero") for name, s in zip(rows, found.row_status, strict=True)},
    )


def _ray(highs: Any, rows: tuple[str, ...], infeasible: bool) -> dict[str, float] | None:
    if not infeasible:
        return None
    _, exists, ray = highs.getDualRay()
    return dict(zip(rows, (float(v) for v in ray), strict=True)) if exists else None


def _finite(value: float) -> float | None:
    return value if abs(value) < 1e300 else None
