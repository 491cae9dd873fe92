"""`optimiser trial record --made` and the same from a table: settings of the work with their units."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.cli.line import Ran, here
from tests.stirred_balms import stirred_balms


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return stirred_balms(tmp_path_factory.mktemp("made") / "bench")


@pytest.fixture
def bench(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "bench")
    return tmp_path / "bench"


def record(capsys: pytest.CaptureFixture[str], bench: Path, *words: str) -> Ran:
    return here(capsys, "trial", "record", "stir-1", "-w", str(bench), "--on", "2026-11-03", *words)


def test_settings_are_kept_in_their_unit_and_shown(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--made", "heated to=167 F", "--made", "held=1200 s", "--made", "passes=3")
    ran = record(capsys, bench, *words, "--json")
    assert ran.code == 0, ran.err
    entries = json.loads(ran.out)["entries"][-3:]
    assert [(one["what"], one["measure"], one["value"], one["unit"]) for one in entries] == [
        ("made", "heated-to", "75", "C"),
        ("made", "held", "20", "min"),
        ("made", "passes", "3", ""),
    ]
    shown = here(capsys, "trial", "show", "stir-1", "-w", str(bench)).out
    assert "temperature heated to 75 °C" in shown
    assert here(capsys, "check", str(bench)).code == 0


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("stirring=800", "speed of stirring in rpm, 1/min, rps"),
        ("stiring=800 rpm", 'did you mean "stirring"?'),
        ("heated-to=400 C", "from -40 to 200 C"),
        ("stirring", "write it so: stirring=800 rpm"),
        ("passes=some", "a number with its unit"),
    ],
)
def test_settings_that_cannot_be_read(
    bench: Path, capsys: pytest.CaptureFixture[str], word: str, told: str
) -> None:
    ran = record(capsys, bench, "--made", word)
    assert ran.code == 2
    assert told in ran.err


def test_a_table_brings_settings_too(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = bench / "settings.csv"
    rows = ("trial,day,setting,value,unit", *(f"stir-{n},2026-11-04,poured-at,{n}0,C" for n in (5, 6)))
    path.write_text("\n".join(rows), "utf-8")
    ran = here(capsys, "trial", "import", str(path), "-w", str(bench), "--json", "--write")
    assert ran.code == 0, ran.err
    entries = json.loads(ran.out)["entries"]
    assert [(one["what"], one["value"]) for one in entries] == [("made", "50"), ("made", "60")]
