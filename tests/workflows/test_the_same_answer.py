"""The same question has the same answer, whatever order, unit, mark or process it comes in."""

from __future__ import annotations

import csv
import json
import os
import random
import re
import subprocess
import sys
from fractions import Fraction
from importlib import resources
from io import StringIO
from pathlib import Path

import jsonschema
import pytest

from optimiser.cli.show_answer import show_outcome
from optimiser.domain.request import Slot
from optimiser.export.answer_json import answer_json
from optimiser.requests.sources import Sources
from optimiser.workflows.provenance import provenance_of
from tests.workflows.desk import (
    DEMO,
    FLAGSHIP,
    asked,
    changed,
    copied,
    demo,
    proposed,
    put,
    shares,
    slots,
    table_in,
    with_commas,
)

SCHEMA = json.loads(resources.files("optimiser").joinpath("schema/answer.schema.json").read_text("utf-8"))


BALM = "sunflower-balm"


def printed(
    sources: Sources, capsys: pytest.CaptureFixture[str], *briefs: str, formula: str = FLAGSHIP
) -> str:
    capsys.readouterr()
    show_outcome(asked(sources, formula, *briefs))
    text = capsys.readouterr().out
    assert "Total" in text
    return text


@pytest.mark.parametrize("brief", ["sensitive-skin", "impossible-clay", "cheapest", "leave-on"])
def test_the_json_is_as_its_schema_says(brief: str) -> None:
    outcome = asked(demo(), FLAGSHIP, brief)
    text = answer_json(outcome, provenance=provenance_of(demo(), outcome.request))
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(text))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(text) | {"more": 1})


@pytest.mark.parametrize(("formula", "brief"), [(FLAGSHIP, "sensitive-skin"), (BALM, "impossible-clay")])
def test_two_processes_with_other_hash_seeds_write_the_same_bytes(formula: str, brief: str) -> None:
    found = []
    for seed in ("1", "987654321"):
        run = subprocess.run(
            [
                sys.executable,
                "-m",
                "optimiser",
                "propose",
                formula,
                "-w",
                str(DEMO),
                "--brief",
                brief,
                "--json",
            ],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=False,
        )
        assert run.returncode == (3 if brief == "impossible-clay" else 0), run.stderr
        found.append(run.stdout)
    assert found[0] == found[1]
    assert json.loads(found[0])["format"] == 1


def shuffled(text: str, seed: int) -> str:
    head, *rows = csv.reader(StringIO(text))
    random.Random(seed).shuffle(rows)
    out = StringIO()
    csv.writer(out, lineterminator="\n").writerows([head, *rows])
    return out.getvalue()


@pytest.mark.parametrize(("formula", "brief"), [(FLAGSHIP, "sensitive-skin"), (BALM, "cheapest")])
def test_the_order_of_rows_changes_no_printed_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], formula: str, brief: str
) -> None:
    folder = copied(tmp_path)
    for number, name in enumerate(("ingredients", "properties", "composition", "shelf", "process")):
        changed(folder, f"{name}.csv", lambda text, number=number: shuffled(text, number))  # type: ignore[misc]
    here = printed(table_in(folder), capsys, brief, formula=formula)
    assert here == printed(demo(), capsys, brief, formula=formula)


def in_other_units(text: str, columns: tuple[str, ...]) -> str:
    """Kilograms as grams and grams as kilograms, the price left alone."""
    rows = list(csv.DictReader(StringIO(text)))
    for row in rows:
        for column in columns:
            number, _, unit = row[column].partition(" ")
            if unit == "kg":
                row[column] = f"{float(Fraction(number) * 1000):.10g} g"
            elif unit == "g":
                row[column] = f"{float(Fraction(number) / 1000):.10f}".rstrip("0").rstrip(".") + " kg"
    out = StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize(("formula", "brief"), [(BALM, "vegan"), (FLAGSHIP, "from-the-shelf")])
def test_the_unit_of_packs_and_lots_changes_no_printed_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], formula: str, brief: str
) -> None:
    folder = copied(tmp_path)
    changed(folder, "ingredients.csv", lambda text: in_other_units(text, ("pack_size",)))
    changed(folder, "shelf.csv", lambda text: in_other_units(text, ("amount",)))
    here = printed(table_in(folder), capsys, brief, formula=formula)
    assert here == printed(demo(), capsys, brief, formula=formula)


def in_grams(text: str) -> str:
    """Every line of the phases in grams for 250 g; the line that fills up stays."""
    head, rest = text.split("phases:\n")
    phases, targets = rest.split("targets:\n")

    def grams(match: re.Match[str]) -> str:
        return f"{float(Fraction(match[1]) * 5 / 2):.10g} g"

    weighed = re.sub(r"(?<!to )\b([0-9.]+) %", grams, phases)
    return f"{head}phases:\n{weighed}targets:\n{targets}"


def test_a_formula_in_grams_is_the_formula_in_per_cent(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copied(tmp_path)
    changed(folder, f"formulas/{FLAGSHIP}.yaml", in_grams)
    formula = table_in(folder).worktable.formulas[FLAGSHIP]
    assert [(p, line.ingredient, line.percent) for p, line in formula.lines] == [
        (p, line.ingredient, line.percent) for p, line in demo().worktable.formulas[FLAGSHIP].lines
    ]
    there = printed(table_in(folder), capsys, "sensitive-skin")
    assert there == printed(demo(), capsys, "sensitive-skin")


def test_a_worktable_with_decimal_commas_gives_the_same_formula(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    for name in ("properties", "ingredients", "composition", "shelf", "process", "clashes"):
        path = folder / f"{name}.csv"
        rows = list(csv.reader(StringIO(path.read_text(encoding="utf-8"))))
        out = StringIO()
        csv.writer(out, delimiter=";", lineterminator="\n").writerows(
            [rows[0], *([comma_cell(cell) for cell in row] for row in rows[1:])]
        )
        put(folder, f"{name}.csv", out.getvalue())
    for path in (*(folder / "formulas").iterdir(), *(folder / "briefs").iterdir(), folder / "costs.yaml"):
        put(folder, str(path.relative_to(folder)), with_commas(path.read_text(encoding="utf-8")))
    settings = (folder / "worktable.yaml").read_text(encoding="utf-8")
    put(folder, "worktable.yaml", with_commas(settings).replace("decimal: point", "decimal: comma"))
    sources = table_in(folder)
    assert sources.worktable.settings.decimal == "comma"
    here, _ = proposed(sources, FLAGSHIP, "sensitive-skin")
    there, _ = proposed(demo(), FLAGSHIP, "sensitive-skin")
    assert slots(here) == slots(there)
    assert here.cost_per_kg == there.cost_per_kg


def comma_cell(cell: str) -> str:
    """A cell that is a number, with or without a unit, or a condition on one, with a decimal comma."""
    if re.fullmatch(r"ph_(low|high)[<>=]+[\d.]+", cell):
        return cell.replace(".", ",")
    number, _, unit = cell.partition(" ")
    try:
        float(number)
    except ValueError:
        return cell
    return f"{number.replace('.', ',')} {unit}".rstrip()


def test_a_number_between_two_marks_changes_the_answer(tmp_path: Path) -> None:
    """What the tests above would miss if numbers were not read at all."""
    folder = copied(tmp_path)
    changed(folder, f"formulas/{FLAGSHIP}.yaml", lambda t: t.replace("{glycerin: 5 %}", "{glycerin: 9 %}"))
    here, request = proposed(table_in(folder), FLAGSHIP, "sensitive-skin")
    there, _ = proposed(demo(), FLAGSHIP, "sensitive-skin")
    assert shares(here) != shares(there)
    assert request.base[Slot("glycerin", "A")] == 9
