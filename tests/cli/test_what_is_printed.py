"""What a maker reads: plain when piped, whole on a poor terminal, deaf to hostile names."""

from __future__ import annotations

import csv
import json
import os
import re
import subprocess
import sys
import unicodedata
from io import StringIO
from pathlib import Path

import pytest

from optimiser.cli.console import fixed, json_text, plain, short, signed
from tests.cli.line import apart, here
from tests.workflows.desk import DEMO, FLAGSHIP, F, copied

BALM = "sunflower-balm"
"""Found in a third of the time that the mask takes, and its answer has every part."""
ASK = ("propose", BALM, "-w", str(DEMO), "--brief", "vegan")
Capture = pytest.CaptureFixture[str]


def test_piped_output_has_no_colour_and_progress_only_on_standard_error() -> None:
    ran = apart(*ASK, env={"TERM": "xterm-256color", "COLUMNS": "40"})
    assert ran.code == 0
    assert "\x1b" not in ran.out + ran.err
    assert "\r" not in ran.out + ran.err
    assert "…" not in ran.out
    assert all(line.startswith("… ") for line in ran.err.splitlines())


def test_the_parts_of_an_answer_stand_in_order(capsys: Capture) -> None:
    out = here(capsys, *ASK).out
    titles = (
        "The base as it stands",
        "Proposal",
        "Ingredient",
        "Total",
        "Gone, and what does its work now",
        "Why",
        "Measure",
        "What this change sets off",
        "Mind",
        "On paper only",
        "Not considered",
    )
    places = [re.search(rf"^{title}", out, re.MULTILINE) for title in titles]
    assert all(places), titles[places.index(None)]
    assert sorted(p.start() for p in places if p) == [p.start() for p in places if p]
    for word in ("safe.", "safe ", "nut-free", "preserved"):
        assert word not in out.casefold()


def test_the_lines_of_the_table_add_up_and_show_the_move(capsys: Capture) -> None:
    out = here(capsys, *ASK).out
    table = out.split("Ingredient ")[1].split("Gone, and")[0]
    numbers = [re.findall(r"[−+]?\d+\.\d{3}|–|out|new", line) for line in table.splitlines()]
    lines = [found for found in numbers if len(found) >= 2]
    total = lines.pop()
    assert total == ["100.000", "100.000"]
    new = [F(found[1]) for found in lines if found[1] != "–"]
    assert sum(new) == 100
    for found in lines:
        if len(found) == 3 and found[2] not in ("out", "new"):
            assert F(found[1]) - F(found[0]) == F(found[2].replace("−", "-"))


def test_an_impossible_answer_says_what_clashes_and_what_would_do(capsys: Capture) -> None:
    ran = here(capsys, "propose", FLAGSHIP, "-w", str(DEMO), "--brief", "impossible-clay")
    assert ran.code == 3
    assert "Traceback" not in ran.out + ran.err
    assert "Impossible: no formula meets every must" in ran.out
    assert "cannot hold together (drop either of them and the other can)" in ran.out
    words = r"You ask at least 60 % clay; with the other rules as they are, \d+ % is the most"
    assert re.search(words, ran.out)


@pytest.mark.parametrize("verb", [ASK, ("check", str(DEMO), BALM)])
def test_a_terminal_that_knows_ascii_only_keeps_signs_and_loses_nothing_else(verb: tuple[str, ...]) -> None:
    ran = apart(*verb, env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert ran.code == 0, ran.err
    assert "?" not in ran.out
    assert ran.out.isascii()


def test_a_falling_line_still_falls_on_an_ascii_terminal(capsys: Capture) -> None:
    words = ("propose", BALM, "-w", str(DEMO), "--brief", "cheapest")
    rich, poor = here(capsys, *words), apart(*words, env={"PYTHONIOENCODING": "ascii"})
    falls = re.findall(r"−(\d+\.\d{3})", rich.out)
    assert falls
    assert re.findall(r" -(\d+\.\d{3})", poor.out) == falls


def test_json_on_an_ascii_terminal_is_the_same_json(capsys: Capture) -> None:
    rich, poor = here(capsys, *ASK, "--json"), apart(*ASK, "--json", env={"PYTHONIOENCODING": "ascii"})
    assert poor.out.isascii()
    assert not rich.out.isascii()
    assert json.loads(poor.out) == json.loads(rich.out)


def renamed(folder: Path, name: str) -> None:
    """The beeswax under another name."""
    path = folder / "ingredients.csv"
    rows = list(csv.reader(StringIO(path.read_text(encoding="utf-8"))))
    for row in rows:
        if row[0] == "beeswax":
            row[1] = name
    out = StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")


@pytest.mark.parametrize(
    "name", ["[red]Beeswax[/red]", "[bold", "Beeswax [link=http://x.invalid]y[/link]", ":smile:"]
)
def test_a_name_that_looks_like_markup_is_printed_as_it_is(
    tmp_path: Path, capsys: Capture, name: str
) -> None:
    folder = copied(tmp_path)
    renamed(folder, name)
    ran = here(capsys, "propose", BALM, "-w", str(folder))
    assert ran.code == 0
    assert name in ran.out


@pytest.mark.parametrize(
    "name", ["Beeswax\u202eevil", "Beeswax\x1b[31m", "Bees\u200bwax", "Beeswax\x9b2J", "Beeswax\x07"]
)
def test_no_invisible_character_of_a_name_reaches_the_terminal(
    tmp_path: Path, capsys: Capture, name: str
) -> None:
    folder = copied(tmp_path)
    renamed(folder, name)
    for words in (
        ("propose", BALM, "-w", str(folder)),
        ("check", str(folder), BALM),
        ("propose", BALM, "-w", str(folder), "--leave-out", name),
    ):
        ran = here(capsys, *words)
        seen = (ran.out + ran.err).replace("\n", "")
        assert not [mark for mark in seen if unicodedata.category(mark) in ("Cc", "Cf", "Cs", "Co")]
        assert ran.code in (0, 1, 2)


def test_a_reader_that_stops_early_is_met_with_silence() -> None:
    """The answer is longer than what a pipe holds only for --json; it is cut after one line."""
    run = subprocess.Popen(
        [sys.executable, "-m", "optimiser", *ASK, "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=dict(os.environ),
    )
    assert run.stdout is not None
    assert run.stderr is not None
    run.stdout.close()
    said = run.stderr.read().decode()
    run.stderr.close()
    run.wait(timeout=120)
    assert "Traceback" not in said
    assert "BrokenPipe" not in said
    assert "fault in the program" not in said
    assert run.returncode not in (1, 2, 3, 4, 70)


def test_help_is_quick_because_it_loads_nothing_heavy() -> None:
    run = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "optimiser", "--help"],
        capture_output=True,
        check=True,
        text=True,
    )
    loaded = {line.rpartition("|")[2].strip() for line in run.stderr.splitlines()}
    assert "click" in loaded
    assert not loaded & {"pandas", "pint", "pulp", "highspy", "numpy", "rich", "openpyxl", "jinja2", "yaml"}


def test_numbers_as_they_are_printed() -> None:
    assert fixed(F("12.5")) == "12.500"
    assert fixed(None) == "–"
    assert fixed(F("-0.3")) == "−0.300"
    assert fixed(F("-0.0001")) == "0.000"
    assert short(F(25)) == "25"
    assert short(F(100), 0) == "100"
    assert short(F("0.7200")) == "0.72"
    assert signed(F("1.2")) == "+1.200"
    assert signed(F("0.0001")) == ""
    assert plain("a\u202eb\x1b[31mc\x9bd\u00ad") == "ab[31mcd"
    assert json.loads(json_text({"a": "→"})) == {"a": "→"}
