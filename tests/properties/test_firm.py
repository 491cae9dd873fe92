"""Rules held firm: rows and judge agree; none off is the plain rule, all off the worst case."""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.certify.proof import Optimum
from optimiser.certify.simplex import solve_exactly
from optimiser.checks.firm import shaken
from optimiser.checks.judge import judge
from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import FreeLiquid, Level, Mean
from optimiser.lp.build import build
from optimiser.search.propose import search
from optimiser.solver.interface import Limits
from tests.small import INGREDIENTS, fr, head, request

Firm = Level | Mean | FreeLiquid
NUMBERS = ("thickening", "solids", "water_uptake", "water_content", "least_dose_yeast")
TENTHS = st.integers(0, 10).map(lambda n: Fraction(n, 10))


def spread(value: Fraction, down: Fraction, up: Fraction) -> Figure:
    return Figure(value, value * (1 - down), value * (1 + up), "", "invented", "invented")


@st.composite
def worlds(draw: st.DrawFn) -> Request:
    """The small worktable, every number with a spread of its own."""
    asked = request()
    made: dict[str, Ingredient] = {}
    for name, one in sorted(INGREDIENTS.items()):
        known = dict(one.figures)
        for number in NUMBERS:
            if number in known or number in ("solids", "water_uptake", "water_content"):
                value = known[number].value if number in known else draw(TENTHS)
                known[number] = spread(value, draw(TENTHS) * Fraction(9, 10), draw(TENTHS))
        made[name] = replace(one, figures=known)
    return replace(asked, ingredients=made)


@st.composite
def held(draw: st.DrawFn) -> Firm:
    """A rule with a limit on one side or both, in tenths."""
    off = draw(st.integers(0, 24).map(lambda n: Fraction(n, 2)))
    made = replace(head("rule"), off_at_once=off)
    low, high = draw(TENTHS) * 8, draw(TENTHS) * 8
    limits = draw(st.sampled_from([(low, None), (None, high), (low, high)]))
    first, last = (None if x is None else x * 10 for x in limits)
    tens = (first, last)
    name = draw(st.sampled_from(["thickening", "least_dose_yeast"]))
    rules: tuple[Firm, ...] = (
        Level(made, name, *limits, draw(st.sampled_from([None, "A", "B"]))),
        Mean(made, "solids", *tens),
        FreeLiquid(made, *tens, predicted=True),
    )
    return draw(st.sampled_from(rules))


@st.composite
def shares(draw: st.DrawFn, asked: Request) -> dict[Slot, Fraction]:
    found = {slot: draw(TENTHS) for slot in asked.slots if slot != asked.filler}
    return {**found, asked.filler: 100 - sum(found.values(), Fraction(0))}


def judged(asked: Request, rule: Firm, at: dict[Slot, Fraction]) -> bool:
    (verdict,) = [v for v in judge(replace(asked, rules=(rule,)), at) if v.rule.head.id == rule.head.id]
    return verdict.met


def kept(asked: Request, rule: Firm, at: dict[Slot, Fraction]) -> bool:
    """Whether the rule's rows have an answer with these shares, settled in fractions."""
    model = build(replace(asked, rules=(rule,)))
    own = tuple(row for row in model.rows if row.rule == rule.head.id)
    used = {name for row in own for name, _ in row.coef}
    part = replace(model, rows=own, vars=tuple(var for var in model.vars if var.name in used), cost=())
    part = part.with_bounds({f"x:{s}": (v, v) for s, v in at.items() if f"x:{s}" in used})
    return isinstance(solve_exactly(part), Optimum)


@settings(max_examples=150, deadline=None)
@given(st.data(), worlds(), held())
def test_rows_and_judge_agree(data: st.DataObject, asked: Request, rule: Firm) -> None:
    at = data.draw(shares(asked))
    assert kept(asked, rule, at) is judged(asked, rule, at)


@settings(max_examples=60, deadline=None)
@given(st.data(), worlds(), held())
def test_none_off_is_plain_and_all_off_is_the_worst(data: st.DataObject, asked: Request, rule: Firm) -> None:
    at = data.draw(shares(asked))
    for off, surely in ((Fraction(0), False), (Fraction(len(INGREDIENTS)), True)):
        firm = replace(rule, head=replace(rule.head, off_at_once=off))
        plain = replace(rule, head=replace(rule.head, off_at_once=None, surely=surely))
        assert judged(asked, firm, at) is judged(asked, plain, at)
        assert kept(asked, firm, at) is kept(asked, plain, at)


@given(st.lists(st.tuples(TENTHS, TENTHS, TENTHS).map(sorted), max_size=6), st.integers(0, 7))
def test_whole_counts_are_the_worst_of_all_sets(numbers: list[list[Fraction]], off: int) -> None:
    """Against trying every set of `off` numbers."""
    given_as = [(low, value, high) for low, value, high in numbers]
    middle = sum((value for _, value, _ in given_as), Fraction(0))
    sets = list(itertools.combinations(given_as, min(off, len(given_as))))
    least = min(middle - sum((v - low for low, v, _ in some), Fraction(0)) for some in sets)
    most = max(middle + sum((high - v for _, v, high in some), Fraction(0)) for some in sets)
    assert shaken(given_as, Fraction(off)) == (least, most)


def test_a_part_of_a_number_goes_its_part_of_the_way() -> None:
    numbers = [(fr(1), fr(3), fr(4)), (fr(0), fr(1), fr(5))]
    assert shaken(numbers, fr("1.5")) == (fr(4) - 2 - fr("0.5"), fr(4) + 4 + fr("0.5"))


@settings(max_examples=20, deadline=None)
@given(worlds(), st.sampled_from(["0.5", "0.6", "0.7"]))
def test_a_firm_proposal_passes_and_never_costs_less(asked: Request, least: str) -> None:
    """More numbers off at once never make the cheapest formula cheaper."""
    last = Fraction(0)
    for off in (None, fr(0), fr(1), fr(2), fr(20)):
        rule = Level(replace(head("thick"), off_at_once=off), "thickening", fr(least), None)
        firm = replace(asked, rules=(*asked.rules, rule), aim=("cheapest",))
        found = search(firm, limits=Limits())
        if not found.proposals:
            last = Fraction(10**6)
            continue
        stage = found.proposals[0].stages[0]
        assert stage.bound >= last - Fraction(1, 10**5)
        last = stage.bound
