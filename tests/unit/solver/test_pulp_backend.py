"""PuLP: the same model, the same answer, none of its traps."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.model.neutral import read_neutral_file
from optimiser.model.rows import Model
from optimiser.solver.highs import Session, solve_lp, solve_milp
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.pulp_backend import build
from optimiser.solver.solving import solve
from optimiser.workflows.solve_model import solve_model
from tests.models import knapsack, model, row, var

MIXED = model(
    "max",
    {"vitamin-e": 3, "vitamin e": 2, "vitamin_e": 1},
    [var("vitamin-e", 0, 4), var("vitamin e", 0, None, "I"), var("vitamin_e", "0.5", 9), var("unused", 2, 3)],
    [
        row("window", {"vitamin-e": 1, "vitamin e": 2}, 1, "7.5"),
        row("equal", {"vitamin_e": 1, "vitamin-e": -1}, 1, 1),
        row("least", {"vitamin_e": 2}, 1),
        row("free", {"vitamin_e": 1}),
    ],
    constant="0.25",
)


@pytest.mark.parametrize("engine", ["highs", "cbc"])
def test_names_that_look_alike_stay_apart(engine: str) -> None:
    found = solve(MIXED, engine="cbc" if engine == "cbc" else "highs")
    assert found.outcome is Outcome.OPTIMAL
    assert set(found.values) == {"vitamin-e", "vitamin e", "vitamin_e", "unused"}
    assert found.values["vitamin_e"] == pytest.approx(found.values["vitamin-e"] + 1)
    assert found.objective == pytest.approx(solve_milp(MIXED).objective)


def rows_of_pulp(source: Model) -> dict[str, tuple[object, ...]]:
    """Rows as PuLP holds them, its two halves of a window put together again."""
    built = build(source)
    names = {column.name: name for name, column in built.columns.items()}
    rows: dict[str, tuple[object, ...]] = {}
    for name, constraint in built.problem.constraints.items():
        ours = built.rows[name]
        coef = tuple(sorted((names[column.name], float(value)) for column, value in constraint.items()))
        low, high = constraint.getLb(), constraint.getUb()
        if ours in rows:
            low = rows[ours][1] if low is None else low
            high = rows[ours][2] if high is None else high
        rows[ours] = (coef, low, high)
    return rows


def rows_of_highs(source: Model) -> dict[str, tuple[object, ...]]:
    """Rows as HiGHS holds them, when the model is passed to it directly."""
    lp = Session(source)._lp()
    names = sorted(v.name for v in source.vars)
    rows: dict[str, tuple[object, ...]] = {}
    for i, name in enumerate(sorted(r.name for r in source.rows)):
        span = range(lp.a_matrix_.start_[i], lp.a_matrix_.start_[i + 1])
        coef = tuple(sorted((names[lp.a_matrix_.index_[k]], float(lp.a_matrix_.value_[k])) for k in span))
        low, high = lp.row_lower_[i], lp.row_upper_[i]
        rows[name] = (coef, None if low == float("-inf") else low, None if high == float("inf") else high)
    return rows


def test_both_ways_hand_over_identical_rows() -> None:
    direct = rows_of_highs(MIXED)
    assert direct.pop("free") == ((("vitamin_e", 1.0),), None, None)
    assert rows_of_pulp(MIXED) == direct


def test_both_ways_hand_over_the_same_cost_and_limits() -> None:
    built = build(MIXED)
    lp = Session(MIXED)._lp()
    names = sorted(v.name for v in MIXED.vars)
    for i, name in enumerate(names):
        column = built.columns[name]
        assert built.problem.objective.get(column, 0.0) == -lp.col_cost_[i]
        assert column.lowBound == lp.col_lower_[i]
        assert (float("inf") if column.upBound is None else column.upBound) == lp.col_upper_[i]
    assert [column.name for column in built.columns.values()] == ["x0001", "x0002", "x0003", "x0004"]


@pytest.mark.parametrize("seed", range(6))
def test_both_ways_and_both_solvers_agree(seed: int) -> None:
    small = knapsack(seed, 14, 3)
    answers = [solve_milp(small), solve(small), solve(small, engine="cbc")]
    assert [found.outcome for found in answers] == [Outcome.OPTIMAL] * 3
    assert len({round(found.objective or 0, 6) for found in answers}) == 1


def test_duals_of_a_window_come_back_as_one() -> None:
    window = model("min", {"x": 2}, [var("x", None, None)], [row("w", {"x": 1}, 3, 9)])
    assert solve(window).duals == pytest.approx({"w": 2})
    assert solve_lp(window).duals == pytest.approx({"w": 2})


@pytest.mark.parametrize("engine", ["highs", "cbc"])
def test_a_limit_with_an_answer_is_feasible_not_optimal(engine: str) -> None:
    some = Limits(nodes=100 if engine == "cbc" else 1)
    found = solve(knapsack(1, 60, 5), engine="cbc" if engine == "cbc" else "highs", limits=some)
    assert found.outcome is Outcome.FEASIBLE
    assert found.values


def test_pulp_itself_calls_a_stopped_run_optimal() -> None:
    """The trap this adapter steps around: should it ever go, the adapter may become simpler."""
    import pulp

    built = build(knapsack(1, 200, 20))  # not settled in minutes, while some answer is there at once
    built.problem.solve(pulp.HiGHS(msg=False, threads=1, timeLimit=1.0))
    assert built.problem.status == pulp.LpStatusOptimal
    assert built.problem.sol_status == pulp.LpSolutionIntegerFeasible


@pytest.mark.parametrize("engine", ["highs", "cbc"])
def test_impossible_models_have_no_values(engine: str) -> None:
    clash = model("min", {"x": 1}, [var("x", 0, 3)], [row("r", {"x": 1}, 4), row("s", {"x": 1}, 0)])
    found = solve(clash, engine="cbc" if engine == "cbc" else "highs")
    assert found.outcome is Outcome.INFEASIBLE
    assert found.values == {}
    assert found.objective is None


def test_without_end_and_impossible_are_told_apart() -> None:
    endless = model("max", {"x": 1}, [var("x", 0, None, "I"), var("y")], [row("r", {"x": 1, "y": -1}, 0, 0)])
    assert solve(endless).outcome is Outcome.UNBOUNDED


def test_empty_models_and_crossed_limits() -> None:
    assert solve(model("min", {}, [], [], 3)).objective == 3
    assert solve(model("min", {}, [var("x", 2, 1)], [])).outcome is Outcome.INFEASIBLE
    assert solve(model("min", {"x": -1}, [var("x", 0, Fraction(5, 2), "I")], [])).objective == pytest.approx(
        -2
    )


def test_cbc_says_impossible_of_whole_numbers_too() -> None:
    """PuLP reads CBC's 'Integer infeasible' as a status of its own and leaves the solution's status at 0."""
    parity = model(
        "min", {}, [var("x", 0, 9, "I"), var("y", 0, 9, "I")], [row("odd", {"x": 2, "y": 4}, 7, 7)]
    )
    assert solve(parity, engine="cbc").outcome is Outcome.INFEASIBLE


def test_cbc_runs_without_its_preprocessing() -> None:
    """A model found by random search: with preprocessing CBC 2.10.3 calls another answer optimal."""
    found, problems = read_neutral_file(Path(__file__).parent / "wrong_after_preprocessing.json")
    assert problems == ()
    assert found is not None
    exact = solve_model(found)
    assert exact.certified
    assert exact.objective is not None
    assert solve(found, engine="cbc").objective == pytest.approx(float(exact.objective))
