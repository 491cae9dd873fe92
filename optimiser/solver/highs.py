"""HiGHS itself: bases, rays, ranges, and models kept alive while their limits move."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from optimiser.certify.proof import Relaxed
from optimiser.errors import SolverError
from optimiser.model.basis import Basis
from optimiser.model.rows import Model, Row, Var
from optimiser.solver.interface import NO_LIMITS, Limits, Outcome, Solution, as_float, plain_contradiction
from optimiser.solver.reading import read_solution

TOO_SMALL = 10**9
OTHER_WAYS = (("simplex_strategy", 4, 1), ("simplex_scale_strategy", 0, 2))
OPTIONS: Mapping[str, bool | int | float | str] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 0,
    "parallel": "off",
    "mip_rel_gap": 0.0,
    "mip_abs_gap": 0.0,
    "mip_feasibility_tolerance": 1e-8,
    "primal_feasibility_tolerance": 1e-9,
    "dual_feasibility_tolerance": 1e-9,
}


@dataclass(frozen=True, slots=True)
class Ranges:
    """How far each cost and each row limit can move while the optimal basis stays, by name: (low, high)."""

    cost: Mapping[str, tuple[float, float]]
    rows: Mapping[str, tuple[float, float]]


def solve_lp(model: Model, limits: Limits = NO_LIMITS) -> Solution:
    """The continuous relaxation by simplex, presolve off: duals, basis, and a ray when there is no answer."""
    return Session(model.relaxed()).solve(limits)


def relax(model: Model) -> Relaxed:
    """The relaxation's answer as hints for a proof."""
    return _hints(solve_lp(model))


def _hints(found: Solution) -> Relaxed:
    values = found.values if found.has_values else None
    return Relaxed(found.outcome is Outcome.INFEASIBLE, values, found.ray, found.basis)


class Relaxer:
    """As `relax`, for many models that differ in the limits of variables only: one session, moved along."""

    def __init__(self) -> None:
        self._session: Session | None = None
        self._last: Model | None = None

    def __call__(self, model: Model) -> Relaxed:
        last = self._last
        self._last = model
        if self._session is None or last is None or not _differ_in_limits(last, model):
            self._session = Session(model.relaxed())
        else:
            for old, new in zip(last.vars, model.vars, strict=True):
                if old is not new and (old.lower, old.upper) != (new.lower, new.upper):
                    self._session.move_bounds(new.name, new.lower, new.upper)
        return _hints(self._session.solve())


def _differ_in_limits(one: Model, other: Model) -> bool:
    return (
        one.rows is other.rows
        and (one.cost, one.sense, one.constant) == (other.cost, other.sense, other.constant)
        and len(one.vars) == len(other.vars)
        and all(a.name == b.name for a, b in zip(one.vars, other.vars, strict=True))
    )


def solve_milp(
    model: Model, limits: Limits = NO_LIMITS, start: Mapping[str, float] | None = None
) -> Solution:
    """The model with its whole variables, from a start if one is given."""
    return Session(model).solve(limits, start)


def ranges(model: Model) -> Ranges | None:
    """Ranges of the relaxation at its optimum; None when there is no optimum."""
    session = Session(model.relaxed())
    return session.ranges() if session.solve().outcome is Outcome.OPTIMAL else None


def quiet_highs(model: Model) -> Any:
    """A HiGHS with our options, silent from the start: `highspy.Highs()` prints a banner when it is made.

    Coefficients below 1e-9 are kept where a model has them; asking for that always makes HiGHS 1.16 answer
    'unknown' on models it can settle.
    """
    import highspy

    highs = getattr(highspy, "_Highs", highspy.Highs)()
    for key, value in OPTIONS.items():
        highs.setOptionValue(key, value)
    if any(
        coef.denominator > TOO_SMALL and 0 < abs(coef.numerator) * TOO_SMALL < coef.denominator
        for row in model.rows
        for _, coef in row.coef
    ):
        highs.setOptionValue("small_matrix_value", 1e-12)
    return highs


class Session:
    """One model kept alive in HiGHS: limits and costs move, and the next solve starts from the last basis.

    `bare`: answers come without their basis, which takes as long to read as a short solve. `once`: bare, and
    made shorter before it is solved, for a model that is solved as it stands and let go.
    """

    def __init__(self, model: Model, *, bare: bool = False, once: bool = False) -> None:
        self.model = model
        self._bare = bare or once
        self._vars: dict[str, Var] = {var.name: var for var in sorted(model.vars, key=lambda v: v.name)}
        self._rows: dict[str, Row] = {row.name: row for row in sorted(model.rows, key=lambda r: r.name)}
        self._column = {name: i for i, name in enumerate(self._vars)}
        self._row = {name: i for i, name in enumerate(self._rows)}
        self._flip = -1.0 if model.sense == "max" else 1.0
        self._crossed = {("bound", v.name) for v in model.vars if _cross(v.lower, v.upper)}
        self._crossed |= {("row", r.name) for r in model.rows if _cross(r.lower, r.upper)}
        self._is_milp = bool(model.whole)
        self._highs = quiet_highs(model)
        if not self._is_milp and not once:
            self._highs.setOptionValue("presolve", "off")
            self._highs.setOptionValue("solver", "simplex")
        if self._vars:
            self._check(self._highs.passModel(self._lp()), "taking the model")

    def _lp(self) -> Any:
        import highspy
        import numpy as np

        lp, inf = highspy.HighsLp(), highspy.kHighsInf
        lp.num_col_, lp.num_row_ = len(self._vars), len(self._rows)
        cost = dict(self.model.cost)
        lp.col_cost_ = np.array(
            [self._flip * as_float(cost.get(name, Fraction(0)), f"cost of {name}") for name in self._vars]
        )
        lp.offset_ = self._flip * as_float(self.model.constant, "the constant of the cost")
        columns = [_limits(var, inf) for var in self._vars.values()]
        rows = [_limits(row, inf) for row in self._rows.values()]
        lp.col_lower_, lp.col_upper_ = np.array(columns).reshape(-1, 2).T
        lp.row_lower_, lp.row_upper_ = np.array(rows).reshape(-1, 2).T
        starts, index, value = [0], [], []
        for row in self._rows.values():
            index += [self._column[name] for name, _ in row.coef]
            value += [as_float(coef, f"a coefficient of {row.name}") for _, coef in row.coef]
            starts.append(len(index))
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.array(starts, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(index, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(value, dtype=np.float64)
        if self._is_milp:
            kinds = highspy.HighsVarType
            lp.integrality_ = [
                kinds.kContinuous if var.kind == "C" else kinds.kInteger for var in self._vars.values()
            ]
        return lp

    @staticmethod
    def _check(status: object, what: str) -> None:
        import highspy

        if status == highspy.HighsStatus.kError:
            raise SolverError(f"HiGHS failed at {what}", "look for numbers of very different size")

    def move_bounds(self, name: str, lower: Fraction | None, upper: Fraction | None) -> None:
        """Other limits for a variable."""
        inf = self._highs.getInfinity()
        if not self._crosses(("bound", name), lower, upper):
            self._highs.changeColBounds(self._column[name], _low(lower, inf), _high(upper, inf))

    def move_row(self, name: str, lower: Fraction | None, upper: Fraction | None) -> None:
        """Other limits for a row."""
        inf = self._highs.getInfinity()
        if not self._crosses(("row", name), lower, upper):
            self._highs.changeRowBounds(self._row[name], _low(lower, inf), _high(upper, inf))

    def move_all_bounds(self, bounds: Mapping[str, tuple[Fraction | None, Fraction | None]]) -> None:
        """Other limits for many variables at once."""
        import numpy as np

        inf = self._highs.getInfinity()
        straight = [
            name for name, (low, high) in bounds.items() if not self._crosses(("bound", name), low, high)
        ]
        index = np.array([self._column[name] for name in straight], dtype=np.int32)
        lows = np.array([_low(bounds[name][0], inf) for name in straight], dtype=np.float64)
        highs = np.array([_high(bounds[name][1], inf) for name in straight], dtype=np.float64)
        self._highs.changeColsBounds(len(straight), index, lows, highs)

    def rewrite_row(self, row: Row) -> None:
        """The row of that name with other limits and coefficients, of the same variables."""
        for (name, old), (_, new) in zip(self._rows[row.name].coef, row.coef, strict=True):
            if old != new:
                value = as_float(new, f"a coefficient of {row.name}")
                self._highs.changeCoeff(self._row[row.name], self._column[name], value)
        self._rows[row.name] = row
        self.move_row(row.name, row.lower, row.upper)

    def move_cost(self, cost: Mapping[str, Fraction], constant: Fraction = Fraction(0)) -> None:
        """Another cost, all of it; the sense stays."""
        for name, column in self._column.items():
            value = as_float(cost.get(name, Fraction(0)), f"cost of {name}")
            self._highs.changeColCost(column, self._flip * value)
        self._highs.changeObjectiveOffset(self._flip * as_float(constant, "the constant of the cost"))

    def _crosses(self, key: tuple[str, str], lower: Fraction | None, upper: Fraction | None) -> bool:
        if _cross(lower, upper):
            self._crossed.add(key)
        else:
            self._crossed.discard(key)
        return key in self._crossed

    def solve(self, limits: Limits = NO_LIMITS, start: Mapping[str, float] | None = None) -> Solution:
        """Solve as things stand. Two solves with the same history give the same answer."""
        if self._crossed or (not self._vars and plain_contradiction(self.model)):
            return Solution(
                Outcome.INFEASIBLE, note="limits cross" if self._crossed else "rows without variables"
            )
        if not self._vars:
            constant = as_float(self.model.constant)
            return Solution(
                Outcome.OPTIMAL,
                constant,
                {},
                constant,
                duals=dict.fromkeys(self._rows, 0.0),
                reduced={},
                basis=Basis({}, dict.fromkeys(self._rows, "basic")),
            )
        self._set_limits(limits)
        if start is not None and self._is_milp:
            self._start(start)
        self._highs.run()
        if not self._is_milp:
            self._try_other_ways()
        names, rows = tuple(self._vars), tuple(self._rows)
        return read_solution(self._highs, names, rows, self._flip, self._is_milp, bare=self._bare)

    def conflict(self) -> frozenset[tuple[str, str]]:
        """("row" or "bound", name) of a small conflict as HiGHS sees it, a hint; may be empty."""
        import highspy

        if self._crossed or not self._vars or self._is_milp:
            return frozenset()
        strategy = highspy.IisStrategy
        wanted = int(strategy.kIisStrategyFromLp) | int(strategy.kIisStrategyIrreducible)
        self._highs.setOptionValue("iis_strategy", wanted)
        _, found = self._highs.getIis()
        if not found.valid_:
            return frozenset()
        rows, columns = tuple(self._rows), tuple(self._vars)
        named = {("row", rows[i]) for i in found.row_index_}
        return frozenset(named | {("bound", columns[i]) for i in found.col_index_})

    def _try_other_ways(self) -> None:
        """The dual simplex ends in 'unknown' at times where the primal one, or no scaling, does not."""
        import highspy

        for option, value, usual in OTHER_WAYS:
            if self._highs.getModelStatus() != highspy.HighsModelStatus.kUnknown:
                return
            self._highs.setOptionValue(option, value)
            self._highs.clearSolver()
            self._highs.run()
            self._highs.setOptionValue(option, usual)

    def _set_limits(self, limits: Limits) -> None:
        inf = self._highs.getInfinity()
        spent = self._highs.getRunTime()
        self._highs.setOptionValue("time_limit", inf if limits.seconds is None else spent + limits.seconds)
        self._highs.setOptionValue("mip_max_nodes", 2**31 - 1 if limits.nodes is None else limits.nodes)
        self._highs.setOptionValue("mip_abs_gap", limits.gap)

    def _start(self, start: Mapping[str, float]) -> None:
        import numpy as np

        names = [name for name in self._vars if name in start]
        index = np.array([self._column[name] for name in names], dtype=np.int32)
        self._highs.setSolution(
            len(names), index, np.array([start[name] for name in names], dtype=np.float64)
        )

    def ranges(self) -> Ranges:
        """Ranges at the optimum just found."""
        status, found = self._highs.getRanging()
        self._check(status, "ranging")
        cost_low, cost_high = list(found.col_cost_dn.value_), list(found.col_cost_up.value_)
        row_low, row_high = list(found.row_bound_dn.value_), list(found.row_bound_up.value_)
        cost = {}
        for name, i in self._column.items():
            low, high = sorted((self._flip * cost_low[i], self._flip * cost_high[i]))
            cost[name] = (low, high)
        return Ranges(cost, {name: (row_low[i], row_high[i]) for name, i in self._row.items()})


def _cross(lower: Fraction | None, upper: Fraction | None) -> bool:
    return lower is not None and upper is not None and lower > upper


def _limits(item: Var | Row, inf: float) -> tuple[float, float]:
    """Both limits as floats; crossed ones as one point, for the session refuses them before it solves."""
    low, high = _low(item.lower, inf), _high(item.upper, inf)
    return low, max(low, high)


def _low(value: Fraction | None, inf: float) -> float:
    return -inf if value is None else as_float(value)


def _high(value: Fraction | None, inf: float) -> float:
    return inf if value is None else as_float(value)
