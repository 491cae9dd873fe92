"""Learning from trials on a copy of the demo: what is written, what counts, what later answers say."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli.main import cli
from optimiser.export.trial_yaml import trial_text
from optimiser.loading.worktable import load_worktable
from optimiser.workflows.learning import learn_from, write_learned
from tests.unit.trials.bench import SLURRIES, jar
from tests.workflows.desk import copied, proposed, put, shares, table_in

HEAD = "date,ingredient,lot,property,value,low,high,unit,source\n"
IN_USE, NEXT = "QD-0398", "QD-0455"


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    folder = copied(tmp_path)
    (folder / "trials").mkdir()
    for count, ph in enumerate(("5.4", "3.4", "3.1")):
        trial = jar(f"slurry-{count}", SLURRIES[count], IN_USE, ph=ph)
        put(folder, f"trials/{trial.id}.yaml", trial_text(trial))
    return folder


def slope(folder: Path) -> tuple[float, str]:
    figure = table_in(folder).worktable.ingredients["kaolin"].figures["buffer_slope"]
    return float(figure.value), figure.source


def test_rows_are_added_never_written_over_and_the_newest_counts(desk: Path) -> None:
    before = slope(desk)
    sources = table_in(desk)
    lesson = learn_from(sources, ())
    assert not (desk / "learned.csv").exists()
    write_learned(lesson, sources, date(2026, 11, 4))
    first = (desk / "learned.csv").read_text(encoding="utf-8")
    assert first.startswith(HEAD)
    value, source = slope(desk)
    assert value != before[0]
    assert source == f"trial slurry-1 + slurry-2, lot {IN_USE}"
    again = table_in(desk)
    write_learned(learn_from(again, ("slurry-2",)), again, date(2026, 11, 5))
    second = (desk / "learned.csv").read_text(encoding="utf-8")
    assert second.startswith(first)
    assert len(second) > len(first)
    assert slope(desk)[1] == f"trial slurry-2, lot {IN_USE}"


def test_what_is_learned_of_one_lot_is_not_said_of_the_next(desk: Path) -> None:
    put(desk, "learned.csv", f"{HEAD}2026-11-04,kaolin,{NEXT},buffer_slope,0.02,0.018,0.022,meq/g,trial x\n")
    assert slope(desk)[0] == 0.01
    put(
        desk, "learned.csv", f"{HEAD}2026-11-04,kaolin,{IN_USE},buffer_slope,0.02,0.018,0.022,meq/g,trial x\n"
    )
    assert slope(desk)[0] == 0.02


def test_the_command_shows_draws_and_writes(desk: Path) -> None:
    drawn = desk / "check.svg"
    run = CliRunner().invoke(cli, ["trial", "learn", "-w", str(desk), "--plot", str(drawn)])
    assert run.exit_code == 0, run.output
    assert "Nothing was written" in run.output
    assert "Buffering of Kaolin" in run.output
    assert ET.fromstring(drawn.read_text(encoding="utf-8")).tag.endswith("svg")  # noqa: S314
    assert not (desk / "learned.csv").exists()
    run = CliRunner().invoke(
        cli, ["trial", "learn", "-w", str(desk), "--write", "--on", "2026-11-04", "--json"]
    )
    assert run.exit_code == 0, run.output
    assert (desk / "learned.csv").exists()


def test_a_refusal_names_both_clays_and_the_reading_and_writes_nothing(desk: Path) -> None:
    lines = {"water": "69", "kaolin": "20", "rose-clay": "10", "citric-acid-20": "1"}
    put(desk, "trials/both.yaml", trial_text(jar("both", lines, ph="3.8")))
    run = CliRunner().invoke(cli, ["trial", "learn", "both", "-w", str(desk), "--write"])
    assert run.exit_code == 4, run.output
    said = " ".join(run.output.split())
    assert (
        "Refused: these readings cannot tell the buffering of Kaolin, white from the buffering of Rose"
        in said
    )
    assert "What would settle it: the pH of Kaolin, white alone in water, at two doses of acid" in said
    assert not (desk / "learned.csv").exists()


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("2026-11-04,kaolinn,,buffer_slope,0.02,,,meq/g,trial x", "kaolin"),
        ("2026-11-04,kaolin,,buffer_slop,0.02,,,meq/g,trial x", "buffer_slope"),
        ("2026-11-04,kaolin,,buffer_slope,0.02,,,pH,trial x", "the unit meq/g"),
        ("2026-11-04,kaolin,,buffer_slope,99,,,meq/g,trial x", "from 0 to 10"),
        ("2026-11-04,kaolin,,buffer_slope,nan,,,meq/g,trial x", "number"),
        ("2026-11-04,kaolin,,buffer_slope,0.02,0.03,0.04,meq/g,trial x", "between low and high"),
        ("2026-11-04,kaolin,,buffer_slope,0.02,,,meq/g,published: book", "begins with trial or measured"),
        ("04.11.2026,kaolin,,buffer_slope,0.02,,,meq/g,trial x", "a date such as"),
        ("2026-11-04,kaolin,,buffer_slope,,,,meq/g,trial x", "a value, or low and high"),
        ("2026-11-04,kaolin,,buffer_slope,0.02,,,meq/g,", "a value for source"),
        ("2026-11-04,kaolin,,buffer_slope,0.02", "cells"),
    ],
)
def test_hostile_rows_are_named_with_their_line(desk: Path, row: str, expected: str) -> None:
    put(desk, "learned.csv", f"{HEAD}{row}\n")
    worktable, problems = load_worktable(desk)
    assert worktable is None
    assert any(p.file == "learned.csv" and p.line == 2 and expected in p.sentence() for p in problems), (
        problems
    )


def test_a_file_of_other_columns_is_not_added_to(desk: Path) -> None:
    put(desk, "learned.csv", HEAD.replace("date,ingredient", "ingredient,date"))
    run = CliRunner().invoke(cli, ["trial", "learn", "-w", str(desk), "--write"])
    assert "other columns" in str(run.exception)
    assert (desk / "learned.csv").read_text(encoding="utf-8") == HEAD.replace(
        "date,ingredient", "ingredient,date"
    )


WASH = """name: Clay wash
product: {use: rinse-off, area: body, age: adult, form: paste}
batch: 100 g
phases:
  - phase: A
    title: All
    lines:
      - {water: to 100 %}
      - {kaolin: 20 %}
      - {citric-acid-20: 0.5 %}
      - {isothiazolinone-blend: 0.09 %}
targets:
  - ph: {between: [3.4, 4.0]}
    name: pH 3.4 to 4
"""


def test_later_proposals_use_what_was_learned_and_say_so(desk: Path) -> None:
    put(desk, "formulas/clay-wash.yaml", WASH)
    before, _ = proposed(table_in(desk), "clay-wash")
    sources = table_in(desk)
    write_learned(learn_from(sources, ()), sources, date(2026, 11, 4))
    after, _ = proposed(table_in(desk), "clay-wash")
    assert shares(before)["citric-acid-20"] != shares(after)["citric-acid-20"]
    assert not any("learned" in remark.text for remark in before.on_paper)
    said = [remark.text for remark in after.on_paper if "learned" in remark.text]
    assert any("as learned from trial slurry-1 + slurry-2, lot QD-0398" in text for text in said), said
    assert not any("buffer" in remark.text.casefold() for remark in after.rests_on)
