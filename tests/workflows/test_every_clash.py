"""Every clash and every way out of requests on the demo: complete, certified, each formula judged."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from optimiser.checks.judge import broken, judge
from optimiser.cli.show_lists import show_lists
from optimiser.domain.lists import Lists
from optimiser.domain.outcome import Undecided
from optimiser.domain.request import Remark, Request, Slot
from optimiser.domain.rules import Share
from optimiser.domain.selector import Pick
from optimiser.explain.every_lists import lists_of
from optimiser.explain.giving import NEVER
from optimiser.export.lists_json import lists_dict
from optimiser.export.lists_words import said_of
from optimiser.search.propose import silent
from optimiser.solver.interface import Limits
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import request_for
from optimiser.workflows.why import clashes_of
from tests.small import head, request
from tests.workflows.desk import FLAGSHIP, F, demo


def asked_for(formula: str, *briefs: str) -> Request:
    return request_for(demo(), ask(demo(), formula, {"briefs": briefs}))


@cache
def listed(formula: str, *briefs: str) -> Lists:
    return lists_of(asked_for(formula, *briefs), Limits(), silent, seconds=None)


def sides(found: Lists) -> tuple[set[frozenset[str]], set[frozenset[str]]]:
    clashes = {frozenset(side.words for side in one.members) for one in found.clashes}
    return clashes, {frozenset(side.words for side in one.members) for one in found.ways}


def test_sixty_per_cent_clay_clashes_in_two_ways_and_there_are_two_ways_out() -> None:
    found = listed(FLAGSHIP, "impossible-clay")
    much, most = "You ask at least 60 % clay.", "The formula asks at most 30 % clay."
    solids = "The formula asks mean solids of at most 38 %."
    assert sides(found) == (
        {frozenset({much, most}), frozenset({much, solids})},
        {frozenset({much}), frozenset({most, solids})},
    )
    assert found.complete
    assert all(clash.certified for clash in found.clashes)
    assert all(way.certified for way in found.ways)
    assert found.clashes[0].proof[-1] == "together: 0 would have to be at least 30"
    assert all(side.rule.head.basis not in NEVER for one in found.ways for side in one.members)


def test_each_formula_of_a_way_out_adds_up_and_breaks_only_what_is_given_up() -> None:
    found = listed(FLAGSHIP, "impossible-clay")
    asked = asked_for(FLAGSHIP, "impossible-clay")
    place = {slot.ingredient: slot for slot in asked.slots}
    for way in found.ways:
        shares = {place[name]: share for name, share in way.lines}
        assert sum(shares.values()) == 100
        missed = {v.rule.head.id for v in broken(judge(asked, shares)) if v.rule.head.rank is None}
        assert missed <= {side.rule.head.id for side in way.members}


def test_a_wish_that_a_must_stands_against_is_told_so() -> None:
    most = Share(head("most"), Pick("group", "clay"), None, F(26))
    wish = Share(head("much", rank=1), Pick("group", "clay"), F(30), None)
    found = lists_of(request(most, wish), Limits(), silent, seconds=None, wish=wish)
    clashes, ways = sides(found)
    assert found.wish is wish
    assert found.complete
    words = {"The formula asks at least 30 % clay.", "The formula asks at most 26 % clay."}
    assert clashes == {frozenset(words)}
    assert ways == {frozenset({one}) for one in words}
    assert all(sum(share for _, share in way.lines) == 100 for way in found.ways)
    assert Slot("water", "B") in request(most).slots


def test_a_floor_that_has_to_go_altogether_is_said_to() -> None:
    none = Share(head("none"), Pick("group", "polyol"), None, F(0))
    some = Share(head("some"), Pick("group", "polyol"), F(2), None)
    found = lists_of(request(none, some), Limits(), silent, seconds=None)
    assert "The formula asks at least 2 % polyol: none need be asked." in {
        w for one in found.ways for w in one.limits
    }


def test_what_holds_clashes_with_nothing() -> None:
    found = lists_of(request(), Limits(), silent, seconds=None)
    assert (found.clash_count, found.complete) == (0, True)


def test_the_lists_stand_on_the_screen_and_in_the_data(capsys: pytest.CaptureFixture[str]) -> None:
    found, asked = listed(FLAGSHIP, "impossible-clay"), asked_for(FLAGSHIP, "impossible-clay")
    told = lists_dict(found, "EUR")
    assert told["complete"]
    assert told["clashes"]["found"] == told["ways_out"]["found"] == 2
    enough = "You ask at least 60 % clay: at least 30 % clay would do."
    assert told["ways_out"]["listed"][0]["enough"] == [enough]
    show_lists(found, asked, whole=True)
    shown = " ".join(capsys.readouterr().out.split())
    assert enough in shown
    assert "together: 0 would have to be at least 30" in shown
    assert "These are all there are, proved in exact fractions" in shown


def test_lists_that_are_cut_short_say_so() -> None:
    found = replace(listed(FLAGSHIP, "impossible-clay"), complete=False, exhausted=False)
    assert said_of(found) == "The first 2 and 2 found: there may be more."


def test_lists_of_an_undecided_request_are_those_of_the_numbers_as_they_stand() -> None:
    asked = ask(demo(), FLAGSHIP, {"briefs": ("impossible-clay",)})
    number = Remark("kaolin", "the buffer slope of kaolin is assumed")
    outcome = Undecided(request_for(demo(), asked), (), "rests on a number", (number,))
    (found,) = clashes_of(outcome, asked, most=2)
    assert found.assumed
    much = "You ask at least 60 % clay."
    assert all(much in {side.words for side in clash.members} for clash in found.clashes)
    assert "nothing is proved impossible" in said_of(found)
    told = lists_dict(found, "EUR")
    assert (told["numbers"], told["complete"]) == ("assumed", False)


def test_without_an_assumed_number_an_undecided_request_has_no_lists() -> None:
    asked = ask(demo(), FLAGSHIP, {"briefs": ("impossible-clay",)})
    assert clashes_of(Undecided(request_for(demo(), asked), (), "out of time"), asked) == ()
