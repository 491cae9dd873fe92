"""What may be right and is asked about: "free" by nobody's paper, names that differ by a letter."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.workflows.worktable import open_worktable
from optimiser.workflows.worth_asking import worth_asking
from tests.cli.line import here
from tests.unit.loading.folders import write
from tests.workflows.desk import demo

HEAD = "ingredient,flag,state,source\n"


def asked(folder: Path, source: str, state: str = "free") -> int:
    write(folder, {"flags.csv": f"{HEAD}kaolin,palm,{state},{source}\n"})
    return len(worth_asking(folder, open_worktable(folder).worktable))


@pytest.mark.parametrize(
    "source",
    [
        "so I think",
        "web",
        "memory",
        "untested",
        "normally free of it",
        "latest",
        "no paper",
        "tested by nobody",
    ],
)
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
    assert worth_asking(Path(sources.worktable.folder), sources.worktable) == ()


def test_check_asks_and_finds_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(tmp_path, {"flags.csv": f"{HEAD}kaolin,palm,free,so I think\n"})
    ran = here(capsys, "check", str(tmp_path))
    assert ran.code == 0
    assert "To ask: flags.csv:2:source: kaolin: expected a paper or a supplier" in ran.out


CLAYS = (
    "ingredient,substance,share,source\n"
    "kaolin,{},1,invented demo data\n"
    "citric-acid-20,{},1,invented demo data\n"
    "rose-clay,{},1,invented demo data\n"
)


def asked_of(folder: Path, *names: str) -> list[tuple[int | None, str, str]]:
    table = open_worktable(write(folder, {"composition.csv": CLAYS.format(*names)})).worktable
    return [(one.line, one.found, one.fix.partition("?")[0]) for one in worth_asking(folder, table)]


@pytest.mark.parametrize(
    ("names", "line", "odd", "meant"),
    [
        (("Sepiolite", "Sepiollite", "Sepiolite"), 3, "Sepiollite", '"Sepiolite", as on line 2'),
        (("Sepiollite", "Sepiolite", "Sepiolite"), 2, "Sepiollite", '"Sepiolite", as on line 3'),
        (("Sepiolite", "Sepiolit", "Talcose"), 3, "Sepiolit", '"Sepiolite", as on line 2'),
        (
            ("Methyl Linoleate", "Ethyl Linoleate", "Talcose"),
            3,
            "Ethyl Linoleate",
            '"Methyl Linoleate", as on line 2',
        ),
    ],
)
def test_names_that_differ_by_a_letter_are_asked_about_and_stand(
    tmp_path: Path, names: tuple[str, str, str], line: int, odd: str, meant: str
) -> None:
    """The rarer is asked about, or the later; both may be right, so the folder opens as it is."""
    assert asked_of(tmp_path, *names) == [(line, f'"{odd}"', f"did you mean {meant}")]


def test_names_that_are_further_apart_are_not_asked_about(tmp_path: Path) -> None:
    assert asked_of(tmp_path, "Sepiolite", "Sepiolites B", "Saponite") == []
    assert asked_of(tmp_path, "Clay A", "Clay", "Clays") == []
