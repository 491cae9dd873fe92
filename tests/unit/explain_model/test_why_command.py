from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from optimiser.cli.model import command
from optimiser.model.neutral import write_neutral
from optimiser.model.rows import Model
from tests.models import model, row, var

CLASH = model(
    "min",
    {},
    [var("x", 0, 3, "I"), var("y")],
    [
        row("odd", {"x": 2}, 5, 5),
        row("low", {"y": 1}, 2),
        row("high", {"y": 1}, None, 1),
    ],
)


def why(folder: Path, asked: Model, *options: str) -> Result:
    path = folder / "m.json"
    path.write_text(write_neutral(asked), "utf-8")
    return CliRunner().invoke(command, ["why", str(path), *options])


def test_an_impossible_model_leaves_with_3_and_shows_both_sums(tmp_path: Path) -> None:
    found = why(tmp_path, CLASH)
    assert found.exit_code == 3
    text = " ".join(found.output.split())
    assert "test: impossible. Proved in exact fractions." in text
    assert "−1 high, upper y ≤ 1 +1 low, lower y ≥ 2 added up 0 ≥ 1" in text
    assert "whole numbers (x)" in text
    assert "Case 1 of 2: x ≤ 2" in text
    assert "drop odd, lower (≥ 5) and low, lower (≥ 2)" in text
    assert "No limit alone makes it possible" in text


def test_a_possible_model_leaves_with_0(tmp_path: Path) -> None:
    found = why(tmp_path, model("min", {}, [var("x")], [row("r", {"x": 1}, 1)]))
    assert (found.exit_code, found.output) == (0, "test: possible. An exact answer meets every limit.\n")


def test_a_model_short_by_a_hair_leaves_with_4(tmp_path: Path) -> None:
    asked = model("min", {}, [var("x", 0, "0.999999999999")], [row("r", {"x": 1, "y": 1}, 1)])
    asked = Model(asked.name, (*asked.vars, var("y", 0, 0)), asked.rows)
    found = why(tmp_path, asked)
    assert found.exit_code == 4
    assert "within the solver's tolerance" in " ".join(found.output.split())
    assert "impossible. Proved" not in found.output


@pytest.mark.parametrize("most", [1, 2])
def test_most_cuts_the_lists(tmp_path: Path, most: int) -> None:
    found = why(tmp_path, CLASH, "--most", str(most), "--json")
    data = json.loads(found.output)
    assert found.exit_code == 3
    assert len(data["conflicts"]["listed"]) == most
    assert data["cures"]["found"] > most == len(data["cures"]["listed"])


def test_the_same_file_gives_the_same_bytes(tmp_path: Path) -> None:
    assert why(tmp_path, CLASH, "--json").output == why(tmp_path, CLASH, "--json").output


def test_limits_that_always_hold_are_cut_in_the_text_and_not_in_json(tmp_path: Path) -> None:
    many = [f"x{i:02d}" for i in range(12)]
    fixed = [row(f"p{name}", {name: 1}, None, 1, "physics") for name in many]
    asked = model("min", {}, [var(name) for name in many], [*fixed, row("all", dict.fromkeys(many, 1), 20)])
    found = why(tmp_path, asked)
    assert "and 4 more that always hold" in found.output
    assert "0 ≥ 8" in found.output
    data = json.loads(why(tmp_path, asked, "--json").output)
    (conflict,) = data["conflicts"]["listed"]
    assert (len(conflict["members"]), len(conflict["always"]), len(conflict["proof"][0]["sum"])) == (
        1,
        12,
        13,
    )


def test_sentences_of_rows_are_shown(tmp_path: Path) -> None:
    path = tmp_path / "m.json"
    text = write_neutral(CLASH).replace('"name": "low",', '"sentence": "at least two of y", "name": "low",')
    path.write_text(text, "utf-8")
    found = CliRunner().invoke(command, ["why", str(path)])
    assert "low, lower: at least two of y" in " ".join(found.output.split())


def test_a_broken_file_is_a_fault_of_the_data(tmp_path: Path) -> None:
    (tmp_path / "m.json").write_text("{}", "utf-8")
    assert CliRunner().invoke(command, ["why", str(tmp_path / "m.json")]).exit_code == 1


def test_what_is_never_given_up_is_in_no_cure_and_what_goes_first_heads_them(tmp_path: Path) -> None:
    def cures(*options: str) -> list[set[str]]:
        told = json.loads(why(tmp_path, CLASH, "--json", *options).stdout)
        assert told["complete"]
        return [{member["name"] for member in cure["drop"]} for cure in told["cures"]["listed"]]

    plain = cures()
    assert {"odd", "low"} in plain
    assert all("low" not in cure for cure in cures("--never", "low"))
    assert cures("--first", "high", "--first", "odd")[0] == {"high", "odd"}
    assert plain[0] != {"high", "odd"}
    assert sorted(map(sorted, cures("--first", "high"))) == sorted(map(sorted, plain))


def test_a_name_that_is_not_in_the_model_is_told(tmp_path: Path) -> None:
    found = why(tmp_path, CLASH, "--never", "lowe")
    assert found.exit_code != 0
    assert 'no row, rule or variable "lowe"' in str(found.exception)
