"""The model a request is solved by, written out, has the same answer when it is solved by itself."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimiser.solver.interface import Limits
from optimiser.workflows.ask import ask
from optimiser.workflows.solve_model import load_model, solve_model
from optimiser.workflows.write_model import write_models
from tests.workflows.desk import FLAGSHIP, demo, impossible, proposed

CLOSE = 1e-5


@pytest.mark.parametrize(
    ("formula", "said"),
    [
        (FLAGSHIP, {"briefs": ("sensitive-skin",)}),
        ("sunflower-balm", {"briefs": ("vegan",)}),
        (FLAGSHIP, {"aim": ("cheapest",)}),
    ],
    ids=["sensitive mask", "vegan balm", "cheapest mask"],
)
def test_both_files_of_a_model_have_the_answer_of_the_proposal(
    tmp_path: Path, formula: str, said: dict[str, object]
) -> None:
    proposal, _ = proposed(demo(), formula, **said)
    stage = next(stage for stage in proposal.stages if not stage.name.startswith("wishes"))
    files = write_models(demo(), ask(demo(), formula, said), tmp_path / "model.json")
    assert [file.suffix for file in files] == [".json", ".mps"]
    for file in files:
        report = solve_model(load_model(file), Limits(seconds=60), max_leaves=1)
        assert report.answer == "optimal"
        assert report.objective is not None
        if any(s.name.startswith("wishes") for s in proposal.stages):
            assert report.objective <= stage.bound + CLOSE
        assert abs(float(report.objective) - float(stage.bound)) < 1e-4, file.suffix


def test_every_row_of_the_file_says_what_it_stands_for(tmp_path: Path) -> None:
    neutral, _ = write_models(
        demo(), ask(demo(), FLAGSHIP, {"briefs": ("sensitive-skin",)}), tmp_path / "model"
    )
    assert neutral.name == "model.json"
    rows = json.loads(neutral.read_text(encoding="utf-8"))["rows"]
    said = [row for row in rows if row.get("sentence")]
    assert len(said) > len(rows) / 2
    assert any("flagged strong-clay" in row["sentence"] for row in said)


def test_the_model_of_an_impossible_request_is_infeasible(tmp_path: Path) -> None:
    said: dict[str, object] = {"briefs": ("impossible-clay",)}
    impossible(demo(), FLAGSHIP, **said)
    neutral, mps = write_models(demo(), ask(demo(), FLAGSHIP, said), tmp_path / "model.json")
    for file in (neutral, mps):
        report = solve_model(load_model(file), Limits(seconds=60))
        assert report.answer == "infeasible"
        assert report.certified
