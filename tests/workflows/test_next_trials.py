"""The next trials of a formula of the demo: planned, shown, saved with a sheet each."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.checks.judge import broken, judge
from optimiser.cli.trial_next import command
from optimiser.domain.trials import Entry
from optimiser.errors import OptimiserError, UsageError
from optimiser.trials.next_trials import NextTrials, Wanted
from optimiser.workflows.trial_next import Start, lines_of, open_plan, plan, start_from
from optimiser.workflows.trials import record
from tests.workflows.desk import DEMO, copied, put

BALM, DAY = "sunflower-balm", date(2026, 11, 25)
FEW = Wanted("linear", batches=4, replicates=1)


def started(folder: Path, word: str = BALM, *briefs: str) -> Start:
    start = start_from(word, folder, {"briefs": briefs})
    assert isinstance(start, Start)
    return start


@pytest.fixture(scope="module")
def start() -> Start:
    return started(DEMO)


@pytest.fixture(scope="module")
def planned(start: Start) -> NextTrials:
    return plan(start, ["shea-butter,beeswax"], FEW)


def test_every_batch_of_the_plan_is_a_formula_that_the_judge_passes(
    start: Start, planned: NextTrials
) -> None:
    assert len(planned.batches) == 4
    for batch in planned.batches:
        assert not broken(judge(start.request, batch.spot.shares))


def test_every_end_of_the_room_is_held_by_a_rule_of_the_brief(planned: NextTrials) -> None:
    sentences = {rule.head.sentence for rule in planned.room.request.rules}
    for part in range(2):
        for most in (False, True):
            assert set(planned.room.corners.holders(part, most=most)) & sentences


def test_lines_may_be_given_limits_and_wrong_ones_are_told(start: Start) -> None:
    shea, wax = lines_of(start, ["shea-butter=11..12.5", "beeswax"])
    assert (shea.low, shea.high) == (Fraction(11), Fraction("12.5"))
    assert (wax.low, wax.high) == (None, None)
    for words, text in (
        ("sunflower-oil", "makes up 100 %"),
        ("glycerin", "not in this formula"),
        ("beeswax=7", "from where to where"),
        ("beeswax=8..7", "ends before it begins"),
        ("beeswax,beeswax=6..7", "named twice"),
        ("beeswaxx", "beeswax"),
    ):
        with pytest.raises(UsageError, match=text):
            lines_of(start, [words])


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Start, NextTrials]:
    """A worktable to write into, and a plan of one batch in it."""
    folder = copied(tmp_path_factory.mktemp("plan"))
    here = started(folder)
    made = plan(here, ["shea-butter=11..12"], Wanted("linear", batches=2, replicates=0))
    return folder, here, replace(made, batches=made.batches[:1])


def test_a_plan_is_opened_with_a_sheet_and_counts_once_it_was_weighed(
    desk: tuple[Path, Start, NextTrials], tmp_path: Path
) -> None:
    folder, here, made = desk
    said: list[str] = []
    (done,) = open_plan(here, made, DAY, tmp_path / "sheets", tell=said.append)
    assert said == ["batch 1 of 1: opening its trial and writing its sheet"]
    assert done.trial.trial.id == f"{BALM}-1"
    assert done.trial.path.exists()
    assert done.trial.sheets[0].exists()
    again = started(folder, f"{BALM}-1")
    assert dict(again.shares) == dict(made.batches[0].spot.shares)
    assert not plan(again, ["shea-butter=11..12"], FEW).earlier[0].point
    record(folder, f"{BALM}-1", (), rest=Entry(0, DAY, "weighed"))
    later = plan(again, ["shea-butter=11..12"], FEW)
    assert [one.id for one in later.earlier if one.point] == [f"{BALM}-1"]


def test_nothing_stays_of_a_plan_that_cannot_be_opened_whole(
    desk: tuple[Path, Start, NextTrials], tmp_path: Path
) -> None:
    folder, here, made = desk
    before = sorted(folder.rglob("*.yaml"))
    blocked = tmp_path / "sheets"
    blocked.write_text("a file where a folder should be", encoding="utf-8")
    with pytest.raises(OptimiserError):
        open_plan(here, made, DAY, blocked)
    assert sorted(folder.rglob("*.yaml")) == before


def test_a_brief_that_the_formula_breaks_is_proposed_for_first(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(
        folder,
        "briefs/waxy.yaml",
        "name: More wax\ntargets:\n  - share: {kind: wax}\n    between: [7.8 %, 8.6 %]\n    name: More wax\n",
    )
    here = started(folder, BALM, "waxy")
    wax = sum(share for slot, share in here.shares.items() if slot.ingredient == "beeswax")
    assert Fraction("7.8") <= wax <= Fraction("8.6")
    made = plan(here, ["beeswax"], Wanted("linear", batches=2, replicates=0))
    assert made.room.corners.span(0)[0] >= Fraction("7.8")


def test_what_is_printed_and_what_is_json() -> None:
    said = [BALM, "-w", str(DEMO), "--vary", "shea-butter", "--model", "linear", "--batches", "4"]
    runner = CliRunner()
    shown = runner.invoke(command, said, catch_exceptions=False).output
    assert "Sunflower cleansing balm: the next 4 trials. Computed, not tested." in shown
    assert "Shea butter" in shown
    assert "takes the rest" in shown
    found = runner.invoke(command, [*said, "--json", "--aim-for", "coefficients"], catch_exceptions=False)
    answer = json.loads(found.stdout)
    assert answer["criterion"] == "D"
    assert [batch["number"] for batch in answer["batches"]] == [1, 2, 3, 4]
    assert answer["before"] is None
    ends = {batch["percent"]["shea-butter"] for batch in answer["batches"]}
    assert ends == {answer["room"][0]["from"], answer["room"][0]["to"]}


def test_more_batches_to_make_again_than_batches_are_refused(start: Start) -> None:
    with pytest.raises(UsageError, match="leave none to make first"):
        plan(start, ["shea-butter"], Wanted("linear", batches=1, replicates=2))
