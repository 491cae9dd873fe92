"""New trials beside those of earlier days: each day stands apart, and the trials say which is theirs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.cli.show_next import show_next
from optimiser.domain.request import Slot
from optimiser.domain.trials import Entry, Planned, Trial
from optimiser.loading.trials import read_trial
from optimiser.solver.interface import Limits
from optimiser.trials.making import blocks_of
from optimiser.trials.next_trials import NextTrials, Wanted, next_trials
from optimiser.trials.room import Vary
from optimiser.workflows.trial_next import Start, open_plan, plan, start_from
from tests.small import FORMULA
from tests.unit.trials.test_room import ASKED, GLYCERIN, KAOLIN
from tests.workflows.desk import copied

F = Fraction
DAY = date(2026, 11, 25)


def made(name: str, day: date, shares: dict[Slot, Fraction], block: str = "") -> Trial:
    lines = tuple(Planned(slot.phase, slot.ingredient, share) for slot, share in shares.items())
    weighed = Entry(1, day, "weighed", ingredient=lines[0].ingredient, grams=lines[0].grams)
    return Trial(name, FORMULA.id, date(2026, 11, 1), F(100), lines, entries=(weighed,), block=block)


def planned(trials: tuple[Trial, ...], **more: object) -> NextTrials:
    wanted = replace(Wanted("linear", batches=4, replicates=1), **more)  # type: ignore[arg-type]
    return next_trials(ASKED, ASKED.base, (Vary(KAOLIN), Vary(GLYCERIN)), trials, wanted, Limits())


@pytest.fixture(scope="module")
def earlier() -> tuple[Trial, ...]:
    """Four batches of a plan, two made a day after the others."""
    days = {batch.number: date(2026, 11, 2 + batch.number // 3) for batch in planned(()).batches}
    return tuple(
        made(f"mask-{batch.number}", days[batch.number], dict(batch.spot.shares))
        for batch in planned(()).batches
    )


def test_days_before_and_the_new_one_are_told_apart(
    earlier: tuple[Trial, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    one, apart = planned(earlier), planned(earlier, new_day=True)
    assert [o.day for o in apart.earlier] == ["2026-11-02", "2026-11-02", "2026-11-03", "2026-11-03"]
    assert (one.after.terms, apart.after.terms) == (3, 3 + 2)
    assert apart.after.mean_variance > one.after.mean_variance, "what days differ has to be learnt too"
    show_next(one)
    assert "They were made on several days, which count as one; --new-day" in capsys.readouterr().out
    show_next(apart)
    told = capsys.readouterr().out
    assert "Counted as made on 2026-11-02: mask-1, mask-2." in told
    assert "What one day differs from the next is told apart." in told


def test_as_many_as_the_days_take(earlier: tuple[Trial, ...]) -> None:
    """Three lines, two days before and one new, a spare: seven readings, four of them made already."""
    assert len(planned(earlier, batches=None, replicates=0, new_day=True).batches) == 3 + 3 - 1 + 1 - 4
    assert len(planned((), batches=None, replicates=0, blocks=2).batches) == 3 + 2 - 1 + 1


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Start]:
    folder = copied(tmp_path_factory.mktemp("next"))
    start = start_from("sunflower-balm", folder, {})
    assert isinstance(start, Start)
    return folder, start


def test_opened_trials_say_which_day_of_the_plan_is_theirs(opened: tuple[Path, Start]) -> None:
    folder, start = opened
    plan_ = plan(start, ["shea-butter=11..12"], Wanted("linear", batches=2, replicates=0, new_day=True))
    (done, *_) = open_plan(start, replace(plan_, batches=plan_.batches[:1]), DAY)
    trial, problems = read_trial(done.trial.path)
    assert not problems
    assert trial is not None
    assert trial.block == "2026-11-25 plan 1, day 1"
    assert folder in done.trial.path.parents


def test_a_fit_takes_planned_days_apart_by_itself(earlier: tuple[Trial, ...]) -> None:
    shares = dict(ASKED.base)
    planned_ones = (made("mask-8", DAY, shares, "2026-11-25 plan 1, day 1"),)
    assert blocks_of(earlier, None) == ()
    told = blocks_of((*earlier, *planned_ones), None)
    assert told[2:] == ("2026-11-03", "2026-11-03", "2026-11-25 plan 1, day 1")
    assert blocks_of(planned_ones, None) == ()
