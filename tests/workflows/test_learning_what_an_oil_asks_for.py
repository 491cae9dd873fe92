"""A series of creams is learned from, kept as a dated row, and counts in the HLB of later formulas."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.checks.emulsions import emulsion_of
from optimiser.domain.request import Slot
from optimiser.domain.worktable import Worktable
from optimiser.export.trial_yaml import trial_text
from optimiser.workflows.worktable import open_worktable
from tests.cli.line import here
from tests.creams import apart, series
from tests.workflows.desk import copied, demo

F = Fraction
CREAM = {"water": F(76), "sunflower-oil": F(20), "polysorbate-80": F(2), "sorbitan-oleate": F(2)}


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = copied(tmp_path_factory.mktemp("creams"))
    (folder / "trials").mkdir(exist_ok=True)
    for trial in series(apart(8.3)):
        (folder / "trials" / f"{trial.id}.yaml").write_text(trial_text(trial), "utf-8")
    return folder


def demand(worktable: Worktable) -> Fraction:
    lines = tuple((Slot(name, ""), share) for name, share in CREAM.items())
    made = emulsion_of(Amounts(lines, worktable.ingredients))
    assert made is not None
    assert made.demand is not None
    return made.demand.value


def test_a_later_formula_is_held_to_what_was_learned_and_says_so(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = here(capsys, "trial", "learn", "-w", str(bench), "--json", "--write", "--on", "2026-11-12")
    assert ran.code == 0, ran.err
    told = json.loads(ran.out)["series"][0]
    assert told["best"]["at"] == pytest.approx(8.3)
    assert (told["why_not"], told["settled_by"]) == ("", "")
    row = (bench / "learned.csv").read_text("utf-8").splitlines()[-1]
    assert row.startswith("2026-11-12,sunflower-oil,,hlb_needed,8.2")
    assert row.endswith("-,trial " + " + ".join(f"cream-{n}" for n in range(1, 8)))
    assert demand(demo().worktable) == 7
    assert float(demand(open_worktable(bench).worktable)) == pytest.approx(8.3, abs=0.1)

    said = " ".join(here(capsys, "check", str(bench), "sunflower-balm").out.split())
    assert "as learned from trial cream-1 + cream-2" in said
