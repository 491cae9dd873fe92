"""HiGHS: answers, duals, rays, ranges, and models kept alive."""

from __future__ import annotations

import importlib.metadata
import itertools
import os
import subprocess
import sys
import tomllib
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.certify.farkas import prove_infeasible
from optimiser.certify.verify import adds_up
from optimiser.errors import SolverError
from optimiser.model.neutral import read_neutral_file
from optimiser.solver.highs import Relaxer, Session, ranges, relax, solve_lp, solve_milp
from optimiser.solver.interface import Limits, Outcome
from tests.models import knapsack, model, row, var

BLEND = model(
    "max", {"x": 3, "y": 2}, [var("x", 0, 4), var("y")], [row("r", {"x": 1, "y": 1}, None, 6)], constant=10
)
CLASH = model(
    "min", {}, [var("x", 0, 3), var("y")], [row("r", {"x": 1, "y": 1}, 10), row("s", {"y": 1}, None, 6)]
)


def test_duals_and_reduced_costs_have_the_sense_of_the_model() -> None:
    found = solve_lp(BLEND)
    assert found.outcome is Outcome.OPTIMAL
    assert found.objective == pytest.approx(26)
    assert found.values == pytest.approx({"x": 4, "y": 2})
    assert found.duals == pytest.approx({"r": 2})
    assert found.reduced == pytest.approx({"x": 1, "y": 0})
    assert found.basis is not None
    assert (found.basis.columns, found.basis.rows) == ({"x": "upper", "y": "basic"}, {"r": "upper"})


def test_an_impossible_model_gives_a_ray_that_leads_to_a_proof() -> None:
    found = solve_lp(CLASH)
    assert found.outcome is Outcome.INFEASIBLE
    assert found.ray is not None
    assert not found.values
    assert prove_infeasible(CLASH, found.ray) is not None


def test_without_end_is_told_apart_from_impossible() -> None:
    endless = model("max", {"x": 1}, [var("x"), var("y")], [row("r", {"x": 1, "y": -1}, 0, 0)])
    whole = model("max", {"x": 1}, [var("x", 0, None, "I"), var("y")], [row("r", {"x": 1, "y": -1}, 0, 0)])
    assert solve_lp(endless).outcome is Outcome.UNBOUNDED
    assert solve_milp(whole).outcome is Outcome.UNBOUNDED


def test_a_node_limit_is_never_called_optimal() -> None:
    hard = knapsack(1, 60, 5)
    stopped = solve_milp(hard, Limits(nodes=1))
    done = solve_milp(hard)
    assert done.outcome is Outcome.OPTIMAL
    assert stopped.outcome is Outcome.FEASIBLE
    assert stopped.objective is not None
    assert stopped.bound is not None
    assert done.objective is not None
    assert stopped.objective <= done.objective <= stopped.bound
    assert done.bound == done.objective


def test_a_limit_without_an_answer_is_unknown_not_impossible() -> None:
    assert solve_milp(knapsack(1, 60, 5), Limits(nodes=0)).outcome is Outcome.UNKNOWN


def test_a_time_limit_holds_for_each_solve_of_a_session() -> None:
    session = Session(BLEND)
    for _ in range(3):
        assert session.solve(Limits(seconds=5)).outcome is Outcome.OPTIMAL


def test_a_session_follows_its_limits_and_costs_as_a_new_model_would() -> None:
    session = Session(BLEND)
    session.solve()
    session.move_row("r", Fraction(1), Fraction(5))
    session.move_bounds("x", Fraction(0), Fraction(2))
    assert session.solve().objective == pytest.approx(22)
    session.move_cost({"y": Fraction(-1)}, Fraction(1))
    assert session.solve().objective == pytest.approx(1)
    session.move_bounds("x", Fraction(3), Fraction(2))
    assert session.solve().outcome is Outcome.INFEASIBLE
    session.move_bounds("x", None, None)
    moved = model("max", {"y": -1}, [var("x", None, None), var("y")], [row("r", {"x": 1, "y": 1}, 1, 5)], 1)
    assert session.solve().objective == pytest.approx(solve_lp(moved).objective)


def test_a_start_is_taken_up() -> None:
    hard = knapsack(3, 40, 3)
    best = solve_milp(hard)
    again = solve_milp(hard, Limits(nodes=0), start=best.values)
    assert again.outcome in (Outcome.FEASIBLE, Outcome.OPTIMAL)
    assert again.objective == pytest.approx(best.objective)


def test_the_same_model_gives_the_same_answer_whatever_its_order() -> None:
    hard = knapsack(5, 30, 3)
    turned = model("max", dict(hard.cost), list(reversed(hard.vars)), list(reversed(hard.rows)))
    assert solve_milp(hard) == solve_milp(turned)


def test_ranges_say_how_far_a_cost_can_move() -> None:
    found = ranges(BLEND)
    assert found is not None
    assert found.cost["x"][0] == pytest.approx(2)
    assert found.cost["y"] == pytest.approx((0, 3))


def test_crossed_limits_and_empty_models_are_answers_not_crashes() -> None:
    assert solve_lp(model("min", {}, [var("x", 2, 1)], [])).outcome is Outcome.INFEASIBLE
    assert solve_lp(model("min", {}, [], [row("r", {}, 1)])).outcome is Outcome.INFEASIBLE
    assert solve_lp(model("min", {}, [], [row("r", {}, -1, 1)], 7)).objective == 7
    assert solve_lp(model("min", {"x": 2}, [var("x", 3, 5)], [])).objective == 6


def test_numbers_beyond_floats_are_an_error_in_words() -> None:
    with pytest.raises(SolverError, match="too large"):
        solve_lp(model("min", {"x": Fraction(10) ** 400}, [var("x", 1)], []))


def test_a_tiny_coefficient_is_not_dropped() -> None:
    tiny = model("min", {"x": 1}, [var("x")], [row("r", {"x": Fraction(1, 10**10)}, 1)])
    assert solve_lp(tiny).objective == pytest.approx(1e10)


def test_small_models_agree_with_trying_every_answer() -> None:
    """highspy 1.14.0 gave a wrong optimum and called it optimal; a release that does so again fails here."""
    for seed in range(12):
        small = knapsack(seed, 9, 3)
        best = max(
            small.evaluate(values)
            for picks in itertools.product((0, 1), repeat=9)
            if not small.violations(
                values := {v.name: Fraction(p) for v, p in zip(small.vars, picks, strict=True)}
            )
        )
        assert solve_milp(small).objective == pytest.approx(float(best), rel=1e-9)


def test_hints_for_proofs_come_with_a_basis_and_a_ray() -> None:
    assert relax(CLASH).infeasible
    assert relax(CLASH).ray is not None
    assert relax(BLEND).basis is not None


def test_nothing_is_printed() -> None:
    code = (
        "from optimiser.solver import highs, solving\n"
        "from tests.models import knapsack\n"
        "highs.solve_milp(knapsack(1, 8, 2)); solving.solve(knapsack(1, 8, 2))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env={**os.environ}, check=True
    )
    assert (run.stdout, run.stderr) == ("", "")


def test_the_solvers_are_not_loaded_before_they_are_used() -> None:
    code = (
        "import sys, optimiser.solver.highs, optimiser.solver.solving\n"
        "print(sorted({'pulp', 'highspy', 'numpy'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_the_release_with_a_wrong_optimum_is_excluded() -> None:
    """highspy 1.14.0 answered 'Optimal' 76 where 64 is right (linopy excludes it too)."""
    wanted = next(d for d in declared() if d.startswith("highspy"))
    assert "!=1.14.0" in wanted
    assert importlib.metadata.version("highspy") != "1.14.0"


def declared() -> list[str]:
    project = tomllib.loads((Path(__file__).parents[3] / "pyproject.toml").read_text("utf-8"))
    return list(project["project"]["dependencies"])


def test_a_relaxer_says_what_a_fresh_solve_says() -> None:
    relaxer = Relaxer()
    for low, high in ((0, 4), (2, 3), (5, 4), (1, 1), (0, 9)):
        moved = CLASH.with_bounds({"x": (Fraction(low), Fraction(high))})
        fresh, kept = relax(moved), relaxer(moved)
        assert (fresh.infeasible, fresh.values) == (kept.infeasible, kept.values)
    assert not relaxer(BLEND).infeasible


def test_crossed_limits_can_be_mended_by_a_move() -> None:
    session = Session(CLASH.with_bounds({"x": (Fraction(2), Fraction(1))}))
    assert session.solve().outcome is Outcome.INFEASIBLE
    session.move_bounds("x", Fraction(2), Fraction(9))
    assert session.solve().outcome is Outcome.OPTIMAL


def test_a_model_the_dual_simplex_calls_unknown_is_settled() -> None:
    """Found by random search with HiGHS 1.16: 'unknown' with the usual options, and impossible in fact."""
    hard, _ = read_neutral_file(Path(__file__).parent / "unknown_to_the_dual_simplex.json")
    assert hard is not None
    found = solve_lp(hard)
    assert found.outcome is Outcome.INFEASIBLE
    proof = prove_infeasible(hard, found.ray, found.basis)
    assert proof is not None
    assert adds_up(hard, proof)


def test_an_endless_model_is_not_called_feasible() -> None:
    """As above; HiGHS 1.16 stops with 'unknown' and a point in hand unless it is asked another way."""
    endless = model(
        "min",
        {"a": -43, "b": -4, "c": 30},
        [var("a"), var("b"), var("c", 0, 73), var("d", "-0.7", "-0.7")],
        [
            row("r0", {"c": "62/7"}, "-3.3", "23.1"),
            row("r1", {"a": "-0.03", "b": "55/7"}, "-7.8"),
            row("r2", {"d": "-0.22", "a": -7}, "-1.5", "28.2"),
        ],
    )
    assert solve_lp(endless).outcome is Outcome.UNBOUNDED
