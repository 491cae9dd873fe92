"""Alternatives that are far apart: against every set of a small table, and within the room asked for."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.judge import broken
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Rule, Share
from optimiser.domain.selector import Pick
from optimiser.lp import names
from optimiser.lp.aims import objectives
from optimiser.lp.build import build
from optimiser.search.apart import Within, apart_of
from optimiser.search.propose import search
from optimiser.search.stages import extended
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Outcome
from tests.points import clays, only
from tests.small import NO_STRONG, fr, head, request

CLAYS = Pick("group", "clay")
CLAY = Share(head("clay"), CLAYS, fr(20), fr(24))
SOME = ("water", "kaolin", "illite", "glycerin", "xanthan", "konjac", "bentonite")
Set = frozenset[str]


def asked(*rules: Rule, aim: str = "cheapest") -> Request:
    """Seven ingredients of the small table in one phase, with these rules alone."""
    one = only(request(formula=clays(kaolin="20")), SOME)
    slots = tuple(Slot(name, "B") for name in SOME)
    return replace(one, slots=slots, rules=rules, pulls=(), aim=(aim,))  # type: ignore[arg-type]


def found_for(one: Request, within: Within, count: int) -> tuple[Proposal, ...]:
    return search(one, alternatives=count, within=within, limits=Limits()).proposals


def set_of(proposal: Proposal) -> Set:
    return frozenset(line.ingredient for line in proposal.lines)


def possible_sets(one: Request, room: Fraction) -> dict[Set, Fraction]:
    """Every set of ingredients with a formula within the room of the best, each solved by itself."""
    first = objectives(one)[0]
    model = extended(build(one), first).with_cost(first.cost)
    reached: dict[Set, Fraction] = {}
    for bits in itertools.product((0, 1), repeat=len(SOME)):
        bounds = {names.used(i): (Fraction(b), Fraction(b)) for i, b in zip(SOME, bits, strict=True)}
        answer = solve_milp(model.with_bounds(bounds))
        if answer.outcome is Outcome.OPTIMAL and answer.objective is not None:
            reached[frozenset(i for i, b in zip(SOME, bits, strict=True) if b)] = Fraction(answer.objective)
    best = min(reached.values())
    return {one: value for one, value in reached.items() if value <= best + room + Fraction(1, 10**6)}


def nearest(one: Set, earlier: Iterable[Set]) -> int:
    return min(len(one ^ other) for other in earlier)


@pytest.mark.parametrize(
    ("aim", "within", "room"),
    [("cheapest", Within(part=fr("0.5")), None), ("closest", Within(by=fr(12)), fr(12))],
)
def test_none_is_farther_from_all_before_than_the_one_found(
    aim: str, within: Within, room: Fraction | None
) -> None:
    one = asked(CLAY, NO_STRONG, aim=aim)
    found = found_for(one, within, 4)
    assert len(found) == 4
    sets = possible_sets(one, room or found[0].stages[0].value / 2)
    for number in range(1, 4):
        earlier = [set_of(p) for p in found[:number]]
        farthest = max(nearest(other, earlier) for other in sets)
        assert nearest(set_of(found[number]), earlier) == farthest
        assert [a.ingredients for a in found[number].apart] == [
            len(set_of(found[number]) ^ other) for other in earlier
        ]


def test_all_are_sound_within_the_room_and_no_two_alike() -> None:
    one = asked(CLAY, aim="closest")
    found = found_for(one, Within(), 6)
    best = found[0].stages[0].value
    assert len({set_of(p) for p in found}) == len(found) >= 4
    for proposal in found:
        assert broken(proposal.verdicts) == ()
        assert proposal.stages[0].value <= best + 10 + fr("0.01")
    assert not found[1].optimal
    assert found[1].stages[0].bound == found[0].stages[0].bound


def test_the_list_ends_where_no_other_set_is_left() -> None:
    clays_alone = replace(
        only(request(formula=clays(kaolin="20")), ("water", "kaolin", "illite")), rules=(CLAY,), pulls=()
    )
    found = found_for(replace(clays_alone, aim=("cheapest",)), Within(part=fr(2)), 9)
    assert {frozenset(set_of(p) - {"water"}) for p in found} == {
        frozenset({"kaolin"}),
        frozenset({"illite"}),
        frozenset({"kaolin", "illite"}),
    }


def test_no_room_leaves_only_what_is_as_good() -> None:
    found = found_for(asked(CLAY), Within(by=fr(0)), 5)
    assert len(found) == 1


def test_a_wish_the_first_answer_meets_stays_met() -> None:
    wish = Share(head("wish", rank=1), Pick("ingredient", "kaolin"), fr(15))
    found = found_for(asked(CLAY, wish), Within(part=fr(1)), 4)
    assert len(found) == 4
    assert all("kaolin" in set_of(p) and not p.unmet_wishes for p in found)


def test_difference_counts_ingredients_and_half_of_what_moved() -> None:
    first, second = found_for(asked(CLAY), Within(part=fr(1)), 2)
    shares = [{line.ingredient: line.percent for line in p.lines} for p in (first, second)]
    moved = sum(abs(shares[0].get(i, fr(0)) - shares[1].get(i, fr(0))) for i in SOME)
    told = apart_of(first, second)
    assert (told.ingredients, told.among) == (
        len(shares[0].keys() ^ shares[1].keys()),
        len(shares[0].keys() | shares[1].keys()),
    )
    assert told.points == moved / 2 > 0


def test_what_stays_unsaid_depends_on_the_aim() -> None:
    assert Within().room("departure", fr(3)) == 10
    assert Within().room("ingredients", fr(6)) == 1
    assert Within().room("cost", fr(6)) == fr("0.6")
    assert Within(part=fr("0.5")).room("departure", fr(6)) == 3
    assert Within(by=fr(2)).room("cost", fr(6)) == 2
