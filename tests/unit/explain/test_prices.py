"""How far lines may move, and what one step of a limit costs up to where, by hand."""

from __future__ import annotations

from dataclasses import replace

from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Amount, Rule, Share
from optimiser.domain.selector import Pick
from optimiser.domain.why import LimitCost
from optimiser.explain.holding import Ground, ground_of, lines_of
from optimiser.explain.prices import limit_costs
from optimiser.search.propose import search, silent
from optimiser.solver.interface import Limits
from tests.points import clays, only
from tests.small import fr, head, request

CLAY = Share(head("clay", "Clay is at least 20 %."), Pick("group", "clay"), fr(20))
KAOLIN, ILLITE, WATER = fr(4), fr(9), fr("0.5")
"""EUR per kg."""


def ground(*rules: Rule) -> Ground:
    """The cheapest mud of water, kaolin and illite under these rules."""
    names = ("water", "kaolin", "illite")
    asked: Request = only(request(formula=clays(kaolin="20")), names)
    asked = replace(
        asked, slots=tuple(Slot(name, "B") for name in names), rules=rules, pulls=(), aim=("cheapest",)
    )
    (proposal,) = search(asked, limits=Limits()).proposals
    return ground_of(asked, proposal, Limits())


def costs(*rules: Rule) -> dict[tuple[str, bool, bool], LimitCost]:
    """By rule, whether it is made tighter, and whether any ingredient may come."""
    found = limit_costs(ground(*rules), 5, silent)
    return {(one.rule, one.tighter, one.whole): one for one in found}


def test_how_far_each_line_may_move_and_what_comes_without_it() -> None:
    most = Amount(head("most", "Kaolin is at most 30 %."), "kaolin", None, fr(30))
    kaolin, water = sorted(lines_of(ground(CLAY, most), silent), key=lambda one: one.ingredient)
    assert (kaolin.share, kaolin.may) == (fr(20), (fr(0), fr(30)))
    assert (water.share, water.may) == (fr(80), (fr(0), fr(80)))
    for line in (kaolin, water):
        assert line.as_good is not None
        assert [round(float(end), 2) for end in line.as_good] == [float(line.share)] * 2
    assert kaolin.held_by == ("Clay is at least 20 %.",)
    assert kaolin.behind is not None
    assert round(kaolin.behind, 6) == kaolin.dearer == (ILLITE - KAOLIN) / 5
    assert kaolin.then
    assert "Illite" in kaolin.then[0]
    assert (kaolin.needed, water.needed, water.then) == (False, True, ())


def test_a_step_costs_what_the_line_costs_more_than_the_filler() -> None:
    """0.2 % of kaolin in place of water, 16 steps either way as far as anyone looks."""
    found = costs(CLAY)
    step = fr("0.2") / 100 * (KAOLIN - WATER)
    for tighter, sign in ((True, 1), (False, -1)):
        for whole in (True, False):
            one = found["Clay is at least 20 %.", tighter, whole]
            assert (one.side, one.limit, one.step, one.unit) == ("low", fr(20), fr("0.2"), "%")
            assert (one.aim, one.money, one.until) == (sign * step, sign * step, None)


def test_the_price_holds_to_where_the_line_ends_and_another_has_to_come() -> None:
    """Kaolin up to 20.5 %: with it alone no more is had, with any ingredient illite comes, and is dearer."""
    found = costs(CLAY, Amount(head("most", "Kaolin is at most 20.5 %."), "kaolin", None, fr("20.5")))
    step = fr("0.2") / 100 * (KAOLIN - WATER)
    for whole in (True, False):
        one = found["Clay is at least 20 %.", True, whole]
        assert (one.aim, one.until) == (step, fr("20.5"))
    assert found["Clay is at least 20 %.", False, False].until is None


def test_a_step_past_the_end_has_no_price_with_what_is_there() -> None:
    found = costs(CLAY, Amount(head("most", "Kaolin is at most 20 %."), "kaolin", None, fr(20)))
    alone, any_ = (found["Clay is at least 20 %.", True, whole] for whole in (False, True))
    assert (alone.aim, alone.money, alone.until) == (None, None, None)
    assert any_.aim == fr("0.2") / 100 * (ILLITE - WATER)


def test_a_limit_whose_step_changes_nothing_is_not_told() -> None:
    most = Amount(head("most", "Kaolin is at most 20 %."), "kaolin", None, fr(20))
    found = costs(CLAY, most)
    tighter = found[most.head.sentence, True, True]
    assert (tighter.side, tighter.aim) == ("high", fr("0.2") / 100 * (ILLITE - KAOLIN))
    assert (most.head.sentence, False, True) not in found
