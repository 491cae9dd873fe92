"""Readings of several trials from one table: all or none, and never twice."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.trials import Entry, Planned, Trial
from optimiser.errors import OptimiserError
from optimiser.export.trial_yaml import trial_text
from optimiser.files.atomic import write_atomic
from optimiser.files.journal import add_to_all
from optimiser.workflows.recording import far_off
from optimiser.workflows.trials import Preview, get_trial, import_readings, record
from optimiser.workflows.worktable import open_worktable
from tests.workflows.desk import copied

F = Fraction
DAY = date(2026, 11, 20)
HEAD = "trial,day,measure,value,ingredient,grams\n"
ROWS = (
    "balm-1,2026-11-20,solids,99 %,,\n"
    "balm-2,2026-11-20,solids,98 %,,\n"
    "balm-1,2026-11-21,,,beeswax,7.1 g\n"
    "balm-1,2026-11-20,solids,99 %,,\n"
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = copied(tmp_path)
    (folder / "trials").mkdir()
    for number in (1, 2):
        lines = (Planned("A", "sunflower-oil", F(93)), Planned("A", "beeswax", F(7)))
        trial = Trial(f"balm-{number}", "sunflower-balm", DAY, F(100), lines)
        (folder / "trials" / f"balm-{number}.yaml").write_text(trial_text(trial), encoding="utf-8")
    return folder


def taken(folder: Path, rows: str, *, write: bool = True) -> Preview:
    table = folder.parent / "readings.csv"
    table.write_text(HEAD + rows, encoding="utf-8")
    return import_readings(open_worktable(folder), table, write=write)


def texts(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted((folder / "trials").glob("*.yaml"))}


def test_a_table_that_has_grown_adds_only_its_new_rows(folder: Path) -> None:
    assert (len(taken(folder, ROWS).entries), taken(folder, ROWS).known) == (4, 4)
    assert [one.value for one in get_trial(folder, "balm-1").readings("solids")] == [F(99), F(99)]
    grown = taken(folder, ROWS + "balm-2,2026-11-22,solids,97 %,,\n")
    assert ([name for name, _ in grown.entries], grown.known) == (["balm-2"], 4)
    assert [one.value for one in get_trial(folder, "balm-2").readings("solids")] == [F(98), F(97)]
    assert get_trial(folder, "balm-1").weighed == {"beeswax": F("7.1")}


def test_what_was_taken_back_does_not_come_back_with_its_table(folder: Path) -> None:
    taken(folder, ROWS)
    record(folder, "balm-2", [Entry(0, DAY, "corrected", corrects=1)])
    assert taken(folder, ROWS).entries == ()
    assert get_trial(folder, "balm-2").readings("solids") == ()


def test_a_fault_in_the_row_of_one_trial_keeps_nothing_of_the_other(folder: Path) -> None:
    before = texts(folder)
    wrong = taken(folder, ROWS + "balm-2,2026-11-01,solids,97 %,,\nbalm-2,2026-11-22,,,kaolin,3 g\n")
    assert [(one.line, one.cell) for one in wrong.problems] == [(6, "day"), (7, "ingredient")]
    assert not wrong.written
    assert texts(folder) == before


def test_all_files_are_looked_at_before_the_first_is_written(folder: Path) -> None:
    before = texts(folder)
    files = sorted((folder / "trials").glob("*.yaml"))

    def refuse(_text: str) -> str:
        raise OptimiserError("not this one")

    with pytest.raises(OptimiserError, match="not this one"):
        add_to_all({files[0]: lambda _text: "# more\n", files[1]: refuse})
    assert texts(folder) == before


def test_a_disk_that_fails_in_between_tells_what_is_written_and_the_table_can_be_taken_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, content: str | bytes) -> None:
        if path.name == "balm-2.yaml":
            raise OptimiserError(f"{path.name} cannot be written: no space left")
        write_atomic(path, content)

    with monkeypatch.context() as patch:
        patch.setattr("optimiser.files.journal.write_atomic", full)
        with pytest.raises(OptimiserError, match=r"before it were written: balm-1.yaml"):
            taken(folder, ROWS)
    again = taken(folder, ROWS)
    assert ([name for name, _ in again.entries], again.known) == (["balm-2"], 3)
    assert len(get_trial(folder, "balm-1").entries) == 3
    assert len(get_trial(folder, "balm-2").entries) == 1


def test_a_line_written_down_twice_is_asked_about(folder: Path) -> None:
    wax = Entry(0, DAY, "weighed", ingredient="beeswax", grams=F(7))
    assert far_off(record(folder, "balm-1", [wax]), 1) == ()
    (told,) = far_off(record(folder, "balm-1", [wax]), 1)
    assert "14 g in all, where 7 g was planned" in told
    assert "--correct 2" in told
