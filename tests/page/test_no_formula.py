"""Where no formula is found: the ways out come first, and each of them can be pressed."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from optimiser.domain.outcome import Proposals, Undecided
from optimiser.domain.request import Remark
from optimiser.domain.rules import Head, Level
from optimiser.explain.impossible import NOT_DECIDED, OFF_GRID, SETTLES, UNSETTLED
from optimiser.page.views.answer import Answer, outcome_shown, shown_of
from optimiser.page.views.figures import Figures
from tests.page.conftest import Visitor
from tests.workflows.desk import F, asked, demo

BUTTER = {"rule": "line:", "name": "shea-butter", "low": "15", "revision": "0"}


@pytest.fixture(scope="module")
def impossible(visitor: Visitor) -> tuple[str, str]:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/limit", **BUTTER)
    return path, visitor.answer(path)


def test_the_ways_out_stand_right_below_what_clashes(impossible: tuple[str, str]) -> None:
    _, text = impossible
    order = (
        "Impossible:",
        "cannot hold together",
        "Ways out, smallest first",
        "Allow shea butter: at least 13.2 %",
        "Take back the last change",
        "How far each rule can go",
        "With this concession",
    )
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_a_way_out_says_what_it_means(impossible: tuple[str, str]) -> None:
    _, text = impossible
    for name in re.findall(r'aria-describedby="(cure-\d+)"', text):
        assert re.search(rf'id="{name}"><bdi>[A-Z]', text)


def test_the_last_change_is_taken_back_by_one_press(impossible: tuple[str, str], visitor: Visitor) -> None:
    path, text = impossible
    assert 'name="way" value="back">Take back the last change' in text
    gone = visitor.post(f"{path}/step", revision="1", way="back")
    assert "Nothing is asked yet" in gone.text
    visitor.post(f"{path}/step", revision="2", way="on")


def undecided(why: str, *rests: Remark) -> Answer:
    outcome = asked(demo(), "sunflower-balm", "vegan")
    assert isinstance(outcome, Proposals)
    return outcome_shown(Undecided(outcome.request, outcome.base, why, rests), Figures())


def test_a_number_that_nobody_looked_up_leads_to_where_it_is_typed(visitor: Visitor) -> None:
    shown = undecided("x", Remark("beeswax", "Density of Beeswax is assumed.", "memory"))
    (one,) = shown.rests
    assert (one.name, one.at) == ("Beeswax", "/ingredient/beeswax#properties")
    assert 'id="properties"' in visitor.get(one.at).text
    assert (shown.then, shown.aims, shown.again) == ("", (), False)


def test_a_number_that_decides_alone_comes_first() -> None:
    near = "is assumed: 0.9 to 1"
    plain = Remark("beeswax", f"density of Beeswax {near}. {SETTLES}", "memory")
    alone = Remark("shea-butter", f"density of Shea butter {near}. {SETTLES} Possible.", "memory")
    first, second = undecided("x", plain, alone).rests
    assert (first.text, first.decides) == ("Density of Shea butter is assumed: 0.9 to 1. Possible.", True)
    assert (second.text, second.decides) == ("Density of Beeswax is assumed: 0.9 to 1.", False)


def test_what_is_filled_in_elsewhere_leads_there() -> None:
    shown = undecided("x", Remark("beeswax", "Nobody said. Add a line for beeswax to flags.csv.", ""))
    assert shown.rests[0].at == "/ingredient/beeswax#flags"
    assert undecided("x", Remark("nobody", "It is not there.", "")).rests[0].at == ""


@pytest.mark.parametrize(
    ("why", "then", "aims", "again"),
    [(OFF_GRID, False, True, False), (NOT_DECIDED, False, True, True), (UNSETTLED, True, False, False)],
)
def test_only_what_may_help_is_offered(why: str, then: bool, aims: bool, again: bool) -> None:
    shown = undecided(why)
    assert (bool(shown.then), bool(shown.aims), shown.again) == (then, aims, again)


def test_a_kept_level_beside_a_thinner_jar_is_explained() -> None:
    """Both are told of the mask: the level of thickening is kept, and less than half as thick is foretold."""
    outcome = asked(demo(), "sunflower-balm", "vegan")
    assert isinstance(outcome, Proposals)
    thinner = Remark("thickness", "Foretold 3 Pa.s: less than half as thick.", "")
    proposal = replace(outcome.proposals[0], sets_off=(thinner, Remark("label", "Print it.", "")))
    level = Level(Head("x", "Thickening"), "thickening", F("0.7"))
    with_level = replace(outcome.request, rules=(*outcome.request.rules, level))
    told = [shown_of(proposal, one, Figures()).sets_off[0].texts for one in (with_level, outcome.request)]
    assert "The level of thickening may be kept all the same" in told[0][0]
    assert told[0][1] == "Label: Print it."
    assert told[1][0] == "Thickness: Foretold 3 Pa.s: less than half as thick."
    solid = replace(proposal, sets_off=(Remark("thickness", "As much powder as this …", ""),))
    (text,) = shown_of(solid, with_level, Figures()).sets_off[0].texts
    assert text == "Thickness: As much powder as this …"
