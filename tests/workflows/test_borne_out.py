"""What is said to be free of something is asked about where no paper and no supplier is named for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.workflows.borne_out import not_borne_out
from optimiser.workflows.worktable import open_worktable
from tests.cli.line import here
from tests.unit.loading.folders import write
from tests.workflows.desk import demo

HEAD = "ingredient,flag,state,source\n"


def asked(folder: Path, source: str, state: str = "free") -> int:
    write(folder, {"flags.csv": f"{HEAD}kaolin,palm,{state},{source}\n"})
    return len(not_borne_out(folder, open_worktable(folder).worktable))


@pytest.mark.parametrize("source", ["so I think", "web", "memory"])
def test_a_source_that_names_nobody_is_asked_about(tmp_path: Path, source: str) -> None:
    assert asked(tmp_path, source) == 1
    assert asked(tmp_path, source, "contains") == 0


@pytest.mark.parametrize("source", ["supplier", "data sheet of 2026", "by nature: mineral", "Certificate 1"])
def test_a_paper_a_supplier_or_a_reason_bears_it_out(tmp_path: Path, source: str) -> None:
    assert asked(tmp_path, source) == 0


def test_a_supplier_of_the_folder_is_known_by_name(tmp_path: Path) -> None:
    table = write(tmp_path, {})
    sellers = {one.supplier for one in open_worktable(table).worktable.ingredients.values()} - {""}
    assert sellers
    assert asked(tmp_path, f"told by {min(sellers).upper()}") == 0


def test_the_demo_has_nothing_to_ask() -> None:
    sources = demo()
    assert not_borne_out(Path(sources.worktable.folder), sources.worktable) == ()


def test_check_asks_and_finds_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(tmp_path, {"flags.csv": f"{HEAD}kaolin,palm,free,so I think\n"})
    ran = here(capsys, "check", str(tmp_path))
    assert ran.code == 0
    assert "To ask: flags.csv:2:source: kaolin: expected a paper or a supplier" in ran.out
