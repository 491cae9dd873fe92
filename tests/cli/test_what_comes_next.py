"""The line after an answer that says what comes next: on a terminal, and nowhere else."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.cli.line import here
from tests.ranges import small_table

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def asking(tmp_path: Path) -> tuple[str, ...]:
    return ("propose", "balm", "-w", str(small_table(tmp_path / "my table")), "--leave-out", "brown-wax")


def on_a_terminal(capsys: Capture, *words: str) -> list[str]:
    """Lines of the output, printed as to a terminal."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys.stdout, "isatty", lambda: True)
        return here(capsys, *words).out.splitlines()


def test_a_proposal_not_saved_ends_with_how_to_keep_it(asking: tuple[str, ...], capsys: Capture) -> None:
    *_, before, last = on_a_terminal(capsys, *asking)
    assert (before, last) == (
        "",
        "Next: the same command with --save keeps this; optimiser sheet then prints its trial-batch sheet.",
    )


def test_a_saved_one_ends_with_its_name_and_a_command_that_works(
    asking: tuple[str, ...], capsys: Capture, tmp_path: Path
) -> None:
    last = on_a_terminal(capsys, *asking, "--save", "--as", "grey-1")[-1]
    file = tmp_path / "my table" / "proposals" / "grey-1.yaml"
    assert last == f"Saved as grey-1. Next: optimiser sheet '{file}'"
    assert here(capsys, "sheet", str(file), "--to", str(tmp_path)).code == 0
    several = on_a_terminal(capsys, *asking, "--save", "--as", "two", "--alternatives", "2")[-1]
    assert several.startswith("Saved as two")
    assert several.count("Next: optimiser sheet") == 1


def test_pipes_json_and_what_has_no_proposal_end_as_they_did(
    asking: tuple[str, ...], capsys: Capture
) -> None:
    assert "Next:" not in here(capsys, *asking).out
    assert on_a_terminal(capsys, *asking, "--json")[-1] == "}"
    none = on_a_terminal(capsys, *asking, "--leave-out", "grey-wax", "--save")
    assert any("mpossible" in line for line in none)
    assert not any("Next:" in line for line in none)
