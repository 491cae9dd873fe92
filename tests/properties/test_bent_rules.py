"""Rules whose rows are right at one answer: written at a point, they say of it what the judge says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from functools import cache

from hypothesis import assume, given
from hypothesis import strategies as st

from optimiser.checks.amounts import Amounts
from optimiser.checks.free_liquid import Left, left_of
from optimiser.checks.judge import judge
from optimiser.checks.thickness import Thick, thickness_of
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import GRID, Request, Slot
from optimiser.domain.rules import FreeLiquid, Head, Rule, Thickness
from optimiser.lp.build import build
from optimiser.science.body import Body, body_of
from tests.effort import tries
from tests.workflows.desk import FLAGSHIP, asked, demo

F = Fraction
HEAD = Head("test#rule", "It holds.", "test")
GUMS = ("xanthan", "konjac", "sclerotium", "hydroxyethylcellulose")
POWDERS = ("kaolin", "bentonite", "corn-starch", "oat-flour")
OTHERS = ("glycerin", "propanediol", "sunflower-oil")
OFTEN = tries(100)


@cache
def whole() -> Request:
    """The mask with every ingredient whose body is known, and no rule."""
    made = asked(demo(), FLAGSHIP).request
    known = demo().worktable.ingredients
    slots = {slot for slot in made.slots if isinstance(body_of(known[slot.ingredient]), Body)}
    there = {slot.ingredient for slot in slots}
    more = {Slot(name, "C") for name in (*GUMS, *POWDERS, *OTHERS) if name not in there}
    names = {slot.ingredient for slot in slots | more}
    ingredients = {name: known[name] for name in sorted(names)}
    return replace(made, slots=tuple(sorted(slots | more)), ingredients=ingredients, rules=())


@st.composite
def points(draw: st.DrawFn, gums: int = 2) -> dict[Slot, Fraction]:
    """Some gums, powders and liquids, water to 100 %, in whole steps."""
    picked = {
        name: draw(st.integers(50, 1000)) * GRID
        for name in draw(st.lists(st.sampled_from(GUMS), unique=True, min_size=1, max_size=gums))
    }
    for name in draw(st.lists(st.sampled_from(POWDERS), unique=True, max_size=3)):
        picked[name] = draw(st.integers(500, 9000)) * GRID
    for name in draw(st.lists(st.sampled_from(OTHERS), unique=True)):
        picked[name] = draw(st.integers(500, 12000)) * GRID
    where = {slot.ingredient: slot for slot in reversed(whole().slots)}
    shares = {where[name]: share for name, share in picked.items()}
    return {**shares, whole().filler: 100 - sum(shares.values(), F(0))}


def by_name(shares: Mapping[Slot, Fraction]) -> dict[str, Fraction]:
    return {slot.ingredient: share for slot, share in shares.items() if share}


def met(rule: Rule, shares: Mapping[Slot, Fraction]) -> bool:
    made = replace(whole(), rules=(rule,))
    return next(v.met for v in judge(made, shares) if v.rule is rule)


def rows_hold(rule: Rule, shares: Mapping[Slot, Fraction], at: Incumbent | None, *, lenient: bool) -> bool:
    """Whether the rule's own rows hold at the point."""
    model = build(replace(whole(), rules=(rule,)), incumbent=at, lenient=lenient)
    values = {f"x:{slot}": share for slot, share in shares.items()}
    for row in model.rows:
        if row.rule == rule.head.id:
            value = sum((coef * values.get(name, F(0)) for name, coef in row.coef), F(0))
            if (row.lower is not None and value < row.lower) or (row.upper is not None and value > row.upper):
                return False
    return True


def told(shares: Mapping[Slot, Fraction], shear: Fraction) -> Thick:
    amounts = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), whole().ingredients)
    found = thickness_of(amounts, shear, whole().ph_window, whole().substances)
    assume(isinstance(found, Thick))
    assert isinstance(found, Thick)
    return found


LIMITS = st.sampled_from(["0.5", "0.9", "0.999", "1.001", "1.1", "2"]).map(F)


@OFTEN
@given(points(), LIMITS, LIMITS, st.sampled_from([F(1), F(10)]), st.booleans())
def test_thickness_rows_at_a_point_say_what_the_judge_says(
    shares: dict[Slot, Fraction], one: Fraction, other: Fraction, shear: Fraction, surely: bool
) -> None:
    found = told(shares, shear)
    if {"Xanthan Gum", "Amorphophallus Konjac Root Powder"} <= {
        whole().ingredients[n].inci for n in by_name(shares)
    }:
        other = F(1000)
    head = replace(HEAD, surely=surely)
    low, high = (found.low, found.high) if surely else (found.value, found.value)
    assume(low is not None and high is not None)
    assert low is not None
    assert high is not None
    assume(min(low * one, high * other) > F("0.002"))
    rule = Thickness(head, low * one, high * other, shear, predicted=True)
    at = Incumbent(by_name(shares))
    assert met(rule, shares) is (one < 1 < other)
    assert rows_hold(rule, shares, at, lenient=False) is met(rule, shares)


@OFTEN
@given(points(), points(), LIMITS, st.booleans())
def test_what_the_judge_lets_pass_meets_the_needed_rows(
    shares: dict[Slot, Fraction], elsewhere: dict[Slot, Fraction], times: Fraction, surely: bool
) -> None:
    """Wherever the rows of the request are written: needed rows know no last answer."""
    found = told(shares, F(1))
    rule = Thickness(replace(HEAD, surely=surely), None, found.value * times, predicted=True)
    if met(rule, shares):
        assert rows_hold(rule, shares, Incumbent(by_name(elsewhere)), lenient=True)


@OFTEN
@given(points(gums=1), st.sampled_from(GUMS), st.integers(50, 500))
def test_more_gum_is_thicker(shares: dict[Slot, Fraction], name: str, steps: int) -> None:
    where = {slot.ingredient: slot for slot in reversed(whole().slots)}
    more = dict(shares)
    more[where[name]] = more.get(where[name], F(0)) + steps * GRID
    more[whole().filler] -= steps * GRID
    assert told(more, F(1)).value > told(shares, F(1)).value


@OFTEN
@given(points(), st.sampled_from([-1, 0, 1]), st.sampled_from([-1, 0, 1]), st.booleans(), st.booleans())
def test_free_liquid_rows_and_judge_agree_at_the_very_limit(
    shares: dict[Slot, Fraction], below: int, above: int, surely: bool, oily: bool
) -> None:
    amounts = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), whole().ingredients)
    left = left_of(amounts, oily)
    assert isinstance(left, Left)
    hair = F(1, 10**12)
    low, high = (left.low, left.high) if surely else (left.value, left.value)
    rule = FreeLiquid(
        replace(HEAD, surely=surely), low + below * hair, high + above * hair, oily, predicted=True
    )
    assert met(rule, shares) is (below <= 0 <= above)
    assert rows_hold(rule, shares, None, lenient=False) is met(rule, shares)
    assert rows_hold(rule, shares, None, lenient=True) or not met(rule, shares)
