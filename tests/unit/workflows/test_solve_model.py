"""Model files in, certified reports out."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.certify.proof import Optimum
from optimiser.certify.verify import covers, is_optimal
from optimiser.errors import DataError, UsageError
from optimiser.model.basis import Basis
from optimiser.model.mps_text import write_mps
from optimiser.model.neutral import write_neutral
from optimiser.model.rows import Model
from optimiser.solver.interface import Limits
from optimiser.workflows.solve_model import report_as_dict, solve_file, solve_model
from tests.models import knapsack, model, row, var

BLEND = model(
    "max", {"x": "0.3", "y": "1/7"}, [var("x", 0, 4), var("y")], [row("r", {"x": 1, "y": 3}, None, 6)]
)
CLASH = model(
    "min", {}, [var("x", 0, 1, "B"), var("y", 0, 1, "B")], [row("r", {"x": 2, "y": 2}, 1, 1, rule="half")]
)


def test_an_optimum_is_exact_and_certified(tmp_path: Path) -> None:
    path = tmp_path / "blend.json"
    path.write_text(write_neutral(BLEND), "utf-8")
    report = solve_file(path)
    assert (report.answer, report.certified, report.objective) == (
        "optimal",
        True,
        Fraction(6, 5) + Fraction(2, 21),
    )
    data = report_as_dict(report)
    assert data["values"] == {"x": "4", "y": "2/3"}
    assert data["duals"] == {"r": "1/21"}
    assert data["reduced_costs"]["y"] == "0"
    assert json.loads(json.dumps(data)) == data


def test_mps_and_json_give_the_same_report(tmp_path: Path) -> None:
    whole = knapsack(4, 12, 2)
    (tmp_path / "m.json").write_text(write_neutral(whole), "utf-8")
    (tmp_path / "m.mps").write_text(write_mps(whole), "utf-8")
    one, two = (report_as_dict(solve_file(tmp_path / name)) for name in ("m.json", "m.mps"))
    assert one == two
    assert one["certified"]
    assert one["no_answer_better_by"] == "0"


def test_an_impossible_model_shows_the_sum_case_by_case() -> None:
    report = solve_model(CLASH)
    assert (report.answer, report.certified) == ("infeasible", True)
    assert report.proof is not None
    assert covers(CLASH, report.proof)
    proof = report_as_dict(report)["proof"]
    assert len(proof) > 1
    assert all(case["says"].startswith("0 >= ") and case["when"] for case in proof)
    assert {"what": "row", "name": "r", "side": "lower", "times": "1", "limit": "1", "rule": "half"} in [
        entry for case in proof for entry in case["sum"]
    ]


def test_no_end_is_certified() -> None:
    endless = model("max", {"x": 1}, [var("x", 0, None, "I"), var("y")], [row("r", {"x": 1, "y": -1}, 0, 0)])
    for each in (endless, endless.relaxed()):
        report = solve_model(each)
        assert (report.answer, report.certified) == ("unbounded", True)


def test_a_stop_before_the_end_is_undecided() -> None:
    report = solve_model(knapsack(1, 60, 5), Limits(nodes=1))
    assert (report.answer, report.certified) == ("undecided", False)
    assert report.values


@pytest.mark.parametrize("source", [BLEND, CLASH, knapsack(9, 8, 2)])
def test_the_same_model_gives_the_same_report(source: Model) -> None:
    assert report_as_dict(solve_model(source)) == report_as_dict(solve_model(source))


def test_what_floats_blur_is_settled_exactly() -> None:
    near = model("min", {"x": 1}, [var("x", 0, 40)], [row("r", {"x": 1}, Fraction(40) + Fraction(1, 10**15))])
    assert solve_model(near).answer == "infeasible"
    touching = model("min", {"x": 1}, [var("x", 0, "1/3")], [row("r", {"x": 3}, 1)])
    report = solve_model(touching)
    assert (report.answer, report.values) == ("optimal", {"x": Fraction(1, 3)})


def test_costs_on_continuous_variables_are_best_within_a_stated_step() -> None:
    mixed = model(
        "min", {"x": 1, "y": "0.5"}, [var("x"), var("y", 0, 9, "I")], [row("r", {"x": 2, "y": 1}, "2.5")]
    )
    report = solve_model(mixed)
    assert report.certified
    assert report.objective == Fraction(5, 4)
    assert 0 < report.step <= Fraction(1, 500000)


def test_faults_and_unknown_files_are_told(tmp_path: Path) -> None:
    (tmp_path / "m.json").write_text('{"sense": "min"}', "utf-8")
    with pytest.raises(DataError) as fault:
        solve_file(tmp_path / "m.json")
    assert len(fault.value.problems) == 2
    with pytest.raises(DataError):
        solve_file(tmp_path / "none.mps")
    with pytest.raises(UsageError, match="no model file"):
        solve_file(tmp_path / "m.lp")


def test_a_model_without_variables_is_answered() -> None:
    assert solve_model(model("min", {}, [], [row("r", {}, 0, 1)], 3)).objective == 3
    assert solve_model(model("min", {}, [], [row("r", {}, 1)], 3)).answer == "infeasible"


def test_duals_of_the_report_prove_its_optimum() -> None:
    report = solve_model(BLEND)
    assert report.objective is not None
    found = Optimum(report.objective, report.values, report.duals, report.reduced, Basis({}, {}))
    assert is_optimal(BLEND, found)
