"""The neutral JSON form."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction

from optimiser.model.neutral import read_neutral, write_neutral
from optimiser.model.rows import Model
from tests.models import model, row, var


def sample() -> Model:
    plain = model(
        "max",
        {"x": "1/3", "y": "0.1"},
        [var("x", None, "1e-30"), var("y", 0, 1, "B"), var("z z", -3, None, "I")],
        [row("r", {"x": "0.1", "z z": "-2/7"}, "0.3", None, rule="brief.yaml#clay"), row("free", {"y": 1})],
        "1/7",
    )
    worded = replace(plain.rows[0], sentence='At least 18 % "clay" – über alles')
    return replace(
        plain, rows=(worded, plain.rows[1]), vars=(replace(plain.vars[0], title="rose clay"), *plain.vars[1:])
    )


def test_written_and_read_back_without_loss() -> None:
    assert read_neutral(write_neutral(sample())) == (sample(), ())


def test_the_same_model_gives_the_same_bytes() -> None:
    assert write_neutral(sample()) == write_neutral(sample())


def test_numbers_are_exact_whether_in_quotes_or_bare() -> None:
    text = json.dumps(
        {"sense": "min", "vars": [{"name": "x", "lower": "0.1", "upper": None, "type": "C"}], "rows": []}
    )
    bare = text.replace('"0.1"', "0.1")
    assert read_neutral(text) == read_neutral(bare)
    found, _ = read_neutral(bare)
    assert found is not None
    assert found.vars[0].lower == Fraction(1, 10)


def test_every_fault_is_told_with_its_path_and_a_fix() -> None:
    text = """{"sense": "least", "colour": 1, "vars": [{"name": "x", "lower": 0, "upper": "NaN", "typ": "C"},
      {"name": "y", "cost": true, "lower": 1e999999, "upper": null, "type": "D"}],
      "rows": [{"name": "r", "lower": null, "upper": 3, "coef": {"x": "1", "x": "2"}}, 7]}"""
    found, problems = read_neutral(text, "m.json")
    assert found is None
    told = {(p.entry, p.found) for p in problems}
    assert told == {
        ("model.colour", '"colour"'),
        ("sense", '"least"'),
        ("vars[0].typ", '"typ"'),
        ("vars[0]", "nothing"),
        ("vars[0].upper", '"NaN"'),
        ("vars[1].type", '"D"'),
        ("vars[1].lower", "1e999999"),
        ("vars[1].cost", "true"),
        ("rows[0].coef.x", '"x" again'),
        ("rows[1]", "7"),
    }
    assert all(p.file == "m.json" for p in problems)
    assert next(p.fix for p in problems if p.entry == "vars[0].typ") == 'did you mean "type"?'


def test_broken_json_is_told_with_its_line() -> None:
    found, problems = read_neutral('{\n "sense": "min",\n "vars": [,]\n}', "m.json")
    assert found is None
    assert [(p.file, p.line) for p in problems] == [("m.json", 3)]
