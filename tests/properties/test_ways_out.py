"""Ways out of random small requests against brute force: the judge, and every limit a shown step nearer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.checks.judge import broken, judge
from optimiser.domain.outcome import Concession, Impossible
from optimiser.domain.request import Request
from optimiser.domain.rules import Absent, Amount, Cost, Mean, Newcomers, Ratio, Rule, Share, Stock
from optimiser.domain.selector import Pick
from optimiser.explain.giving import moved, sides_of, unit_step
from optimiser.explain.impossible import explain_impossible
from optimiser.explain.rest import STRAIGHT, Rest
from optimiser.search.propose import search
from optimiser.solver.interface import Limits
from tests.points import clays, only, placed
from tests.small import fr, head, request

calm = settings(max_examples=25, deadline=None)
CLAYS, GUM, POLYOL = Pick("group", "clay"), Pick("group", "gum"), Pick("group", "polyol")
NAMES = ("water", "kaolin", "illite", "bentonite", "xanthan", "glycerin")
TENTHS = st.integers(1, 999).map(lambda n: Fraction(n, 10))
SMALL = st.integers(1, 99).map(lambda n: Fraction(n, 100))


@st.composite
def rules(draw: st.DrawFn) -> tuple[Rule, ...]:
    """Three to five rules of several kinds, often at odds."""
    kinds = draw(st.lists(st.integers(0, 8), min_size=3, max_size=5, unique=True))
    return tuple(_rule(kind, draw(TENTHS), draw(SMALL)) for kind in kinds)


def _rule(kind: int, tenths: Fraction, small: Fraction) -> Rule:
    made: Sequence[Rule] = (
        Share(head("clay"), CLAYS, tenths),
        Share(head("little clay"), CLAYS, None, tenths),
        Amount(head("wet"), "water", tenths),
        Amount(head("dry"), "water", None, tenths),
        Mean(head("solids"), "solids", tenths),
        Cost(head("price"), 1 + small * 4),
        Ratio(head("ratio"), GUM, POLYOL, small),
        Absent(head("out"), CLAYS),
        Newcomers(head("new"), 0),
    )
    return made[kind]


def mud(found: tuple[Rule, ...]) -> Request:
    """Water and kaolin are the base; gum and polyol have their most."""
    asked = only(request(formula=clays(kaolin="20")), NAMES)
    most = (Amount(head("gum"), "xanthan", None, fr(3)), Amount(head("polyol"), "glycerin", None, fr(9)))
    return replace(asked, rules=(*found, *most), pulls=())


def explained(asked: Request) -> Impossible | None:
    if search(asked, limits=Limits()).proposals:
        return None
    found = explain_impossible(asked, (), Limits(), off_grid=False, tell=lambda _: None)
    return found if isinstance(found, Impossible) else None


@calm
@given(rules())
def test_every_way_out_has_a_formula_that_breaks_what_gives_way_and_nothing_else(
    found: tuple[Rule, ...],
) -> None:
    asked = mud(found)
    answer = explained(asked)
    for way in () if answer is None else answer.concessions:
        if way.enough == "together":
            continue
        failed = {v.rule.head.id for v in broken(judge(asked, placed(asked, way.lines)))}
        assert failed == {way.rule.head.id}


@calm
@given(rules())
def test_a_limit_a_shown_step_nearer_finds_no_formula(found: tuple[Rule, ...]) -> None:
    """What is told as the most, or the least, is so: nearer by one step, the whole search finds nothing."""
    asked = mud(found)
    answer = explained(asked)
    for way in () if answer is None else answer.concessions:
        if " is the most" in way.sentence or " is the least" in way.sentence:
            assert not search(_nearer(asked, way), limits=Limits()).proposals


def _nearer(asked: Request, way: Concession) -> Request:
    number = Fraction(next(word for word in way.enough.split() if word.replace(".", "").isdigit()))
    floor = way.enough.startswith("at least")
    side = next(s for s in sides_of(way.rule) if s.floor == floor)
    by = unit_step(number)
    nearer = moved(way.rule, side, number + by if floor else number - by)
    return replace(asked, rules=tuple(nearer if r is way.rule else r for r in asked.rules))


@calm
@given(rules())
def test_however_far_it_gives_way_means_that_the_rest_alone_is_impossible(found: tuple[Rule, ...]) -> None:
    asked = mud(found)
    answer = explained(asked)
    if answer is None:
        return
    for remark in answer.conflicts[0].best:
        rest = tuple(rule for rule in asked.rules if rule.head.id != remark.about)
        if remark.text.endswith("However far this alone gives way, another clash remains."):
            assert not search(replace(asked, rules=rest), limits=Limits()).proposals


@calm
@given(st.dictionaries(st.sampled_from(NAMES), TENTHS, max_size=4))
def test_what_is_bought_is_enough_and_a_tenth_of_a_gram_less_is_not(most: dict[str, Fraction]) -> None:
    """One ingredient to buy: its grams are those that the shelf lacks of a hundred per cent."""
    asked = replace(mud(()), rules=(Stock(head("shelf"), most),), batch_g=fr(250))
    answer = explained(asked)
    if answer is None:
        assert sum(most.values()) >= 100
        return
    way = answer.concessions[0]
    lacks = (100 - sum(most.values(), Fraction(0))) * asked.batch_g / 100
    assert fr(way.enough.split()[1]) - lacks < Fraction(2, 10)
    assert fr(way.enough.split()[1]) >= lacks


@calm
@given(rules())
def test_one_solve_and_bisection_agree_on_a_limit(found: tuple[Rule, ...]) -> None:
    asked = mud(found)
    rest = Rest(asked, Limits())
    for rule in found:
        for side in sides_of(rule):
            if isinstance(rule, STRAIGHT) and side.which in ("low", "high"):
                by_solve = rest.nearest(rule, side)
                by_trying = rest._by_trying(rule, side)
                if by_solve not in (None, side.asked) and by_trying is not None:
                    assert abs(by_solve - by_trying) <= unit_step(side.asked)
