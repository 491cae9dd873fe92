"""The room a brief leaves: points meet every must, ends name what holds them, plans stay inside."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from optimiser.checks.judge import broken, judge
from optimiser.domain.request import Slot
from optimiser.domain.rules import Mean
from optimiser.domain.trials import Entry, Planned, Trial
from optimiser.errors import OptimiserError, UsageError
from optimiser.solver.interface import Limits
from optimiser.trials.next_trials import NextTrials, Wanted, next_trials
from optimiser.trials.room import Room, Vary, far_apart, may_vary, room, spots, widest
from tests.small import CLAY, FORMULA, THICK, head, request

F = Fraction
LIMITS = Limits()
ASKED = request(CLAY, THICK)
KAOLIN, BENTONITE, GLYCERIN = Slot("kaolin", "B"), Slot("bentonite", "B"), Slot("glycerin", "A")
XANTHAN, WATER = Slot("xanthan", "A"), Slot("water", "B")


@pytest.fixture(scope="module")
def clays() -> Room:
    return room(ASKED, ASKED.base, (Vary(KAOLIN), Vary(BENTONITE)), LIMITS)


@pytest.fixture(scope="module")
def planned() -> NextTrials:
    return next_trials(ASKED, ASKED.base, (Vary(KAOLIN), Vary(GLYCERIN)), (), Wanted(), LIMITS)


def test_corners_are_those_worked_out_by_hand(clays: Room) -> None:
    """Thickening 0.63 to 0.77, 0.4 of it gum, 0.05 for each % of bentonite: 4.6 to 7.4; all clay 20 to 26."""
    assert clays.corners.points == (
        (F("12.6"), F("7.4"), F("73.8")),
        (F("15.4"), F("4.6"), F("73.8")),
        (F("18.6"), F("7.4"), F("67.8")),
        (F("21.4"), F("4.6"), F("67.8")),
    )
    assert clays.corners.holders(1, most=True) == (THICK.head.sentence,)
    assert clays.by_judge == ()


def test_every_spot_is_on_the_grid_and_passes_the_judge(clays: Room) -> None:
    good, bad = spots(clays)
    assert not bad
    assert good[0].what == "the formula itself"
    assert len(good) == len({spot.point for spot in good}) >= 12
    for spot in good:
        assert not broken(judge(ASKED, spot.shares))
        assert sum(spot.shares.values()) == 100


def test_what_a_straight_row_does_not_know_is_drawn_in_or_dropped(clays: Room) -> None:
    """A rule that the region was not told of: the judge alone keeps points from breaking it."""
    loose, tight = (Mean(head("solids"), "solids", None, F(most)) for most in ("25.8", "23.8"))
    good, bad = spots(replace(clays, request=replace(ASKED, rules=(*ASKED.rules, loose))))
    assert any(spot.drawn for spot in good)
    assert not bad
    good, bad = spots(replace(clays, request=replace(ASKED, rules=(*ASKED.rules, tight))))
    assert {one.verdict.rule for one in bad} == {tight}
    assert len(good) > 1


def test_own_limits_of_a_line_narrow_the_room() -> None:
    found = room(ASKED, ASKED.base, (Vary(KAOLIN, F(15), F(17)), Vary(BENTONITE)), LIMITS)
    assert found.corners.span(0) == (F(15), F(17))
    assert found.corners.holders(0, most=True) == ("the limit of Kaolin",)


def test_lines_with_most_room_come_first() -> None:
    found = widest(ASKED, ASKED.base, LIMITS)
    assert found[0] == (GLYCERIN, F(19))
    assert dict(found)[KAOLIN] == 6
    assert [points for _, points in found] == sorted((points for _, points in found), reverse=True)
    assert WATER not in may_vary(ASKED, ASKED.base)


def test_a_line_without_room_is_told_with_the_rule_that_holds_it() -> None:
    tight = replace(THICK, low=F("0.7"), high=F("0.7"))
    with pytest.raises(OptimiserError, match=r"Bentonite has no room in this brief; held by: thick holds"):
        next_trials(request(tight), ASKED.base, (Vary(BENTONITE),), (), Wanted(), LIMITS)


def test_lines_tied_by_the_brief_are_told() -> None:
    tight = replace(THICK, low=F("0.7"), high=F("0.7"))
    with pytest.raises(OptimiserError, match="ties Bentonite, Xanthan to each other"):
        next_trials(request(tight), ASKED.base, (Vary(BENTONITE), Vary(XANTHAN)), (), Wanted(), LIMITS)


def test_lines_that_only_trade_with_each_other_are_told() -> None:
    """Clay at 22 % in all: kaolin and bentonite move, the filler does not."""
    tight = replace(CLAY, low=F(22), high=F("22.001"))
    with pytest.raises(OptimiserError, match=r"ties Kaolin, Bentonite .* held by: clay holds\n"):
        next_trials(request(tight), ASKED.base, (Vary(KAOLIN), Vary(BENTONITE)), (), Wanted(), LIMITS)


def test_limits_that_leave_nothing_are_told() -> None:
    with pytest.raises(OptimiserError, match="leave no formula"):
        next_trials(ASKED, ASKED.base, (Vary(KAOLIN, F(2), F(3)),), (), Wanted(), LIMITS)


def test_a_plan_has_all_it_was_asked_and_every_batch_passes(planned: NextTrials) -> None:
    assert len(planned.batches) == 6 + 2 + 1
    assert sum(batch.again for batch in planned.batches) >= 2
    assert [batch.number for batch in planned.batches] == list(range(1, 10))
    assert planned.before is None
    for batch in planned.batches:
        assert not broken(judge(ASKED, batch.spot.shares))
        assert batch.without is None or batch.without >= planned.after.mean_variance - 1e-9


def test_trials_made_alike_count_and_others_are_named(planned: NextTrials) -> None:
    def made(name: str, shares: dict[Slot, F], more: int = 0) -> Trial:
        lines = tuple(
            Planned(slot.phase, slot.ingredient, share * 5 / 2 + (more if slot == XANTHAN else 0))
            for slot, share in shares.items()
        )
        day = date(2026, 11, 1)
        weighed = Entry(1, day, "weighed", ingredient=lines[0].ingredient, grams=lines[0].grams)
        return Trial(name, FORMULA.id, day, F(250), lines, entries=(weighed,))

    trials = [made(f"mask-{b.number}", dict(b.spot.shares)) for b in planned.batches]
    trials.append(made("mask-odd", dict(ASKED.base), 1))
    trials.append(replace(trials[0], id="mask-opened", entries=()))
    later = next_trials(
        ASKED, ASKED.base, (Vary(KAOLIN), Vary(GLYCERIN)), trials, Wanted(batches=3, replicates=0), LIMITS
    )
    assert [one.id for one in later.earlier if one.point] == [trial.id for trial in trials[:-2]]
    assert [one.why_not for one in later.earlier[-2:]] == [
        "Xanthan is another share",
        "opened, and nothing of it was weighed",
    ]
    assert later.before is not None
    assert later.before.mean_variance == pytest.approx(planned.after.mean_variance)
    assert later.after.mean_variance < later.before.mean_variance


def test_too_few_batches_are_refused_with_how_many_it_takes() -> None:
    few = Wanted(batches=6)
    with pytest.raises(UsageError, match="6 batches are too few: 6 numbers are to be learned") as told:
        next_trials(ASKED, ASKED.base, (Vary(KAOLIN), Vary(GLYCERIN)), (), few, LIMITS)
    assert "--batches 8" in told.value.fix


def test_each_aim_is_at_least_as_good_as_the_other_at_its_own() -> None:
    sharp = next_trials(
        ASKED,
        ASKED.base,
        (Vary(KAOLIN), Vary(GLYCERIN)),
        (),
        Wanted(criterion="D", replicates=0, batches=9),
        LIMITS,
    )
    even = next_trials(
        ASKED, ASKED.base, (Vary(KAOLIN), Vary(GLYCERIN)), (), Wanted(replicates=0, batches=9), LIMITS
    )
    assert sharp.after.log_det >= even.after.log_det - 1e-9
    assert even.after.mean_variance <= sharp.after.mean_variance + 1e-9


def test_of_many_points_those_far_apart_are_kept() -> None:
    line = [(str(n), (F(n), F(10 - n))) for n in range(11)]
    assert [name for name, _ in far_apart(line, 3)] == ["0", "5", "10"]
    assert far_apart([], 3) == []
