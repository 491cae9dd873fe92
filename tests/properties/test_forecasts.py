"""What the science foretells: its rows say of a point what the judge says, needed rows let all of it pass."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from optimiser.checks.amounts import Amounts
from optimiser.checks.forecasts import Told, foretell, gap
from optimiser.checks.judge import judge
from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import GRID, Request, Slot
from optimiser.domain.rules import FORECASTS, Forecast, ForecastOf, Head
from optimiser.lp.build import build
from optimiser.search.propose import search
from optimiser.solver.interface import Limits
from tests.effort import tries
from tests.workflows.desk import asked, demo

F = Fraction
HEAD = Head("test#rule", "It holds.", "test")
OFTEN = tries(80)
LINES = (
    "water",
    "glycerin",
    "propanediol",
    "sorbitol-syrup",
    "kaolin",
    "corn-starch",
    "sunflower-oil",
    "shea-butter",
    "cetyl-alcohol",
    "polysorbate-80",
    "glyceryl-stearate",
    "citric-acid",
    "sodium-benzoate",
)


@cache
def world() -> Request:
    """Lines of the demo whose numbers are all known, and no rule."""
    made = asked(demo(), "apricot-face-lotion").request
    known = demo().worktable.ingredients
    here = {name: known[name] for name in LINES}
    slots = tuple(sorted(Slot(name, "A") for name in LINES))
    window = (F("4.5"), F("5.5"))
    return replace(
        made,
        slots=slots,
        ingredients=here,
        rules=(),
        filler=Slot("water", "A"),
        base={Slot("water", "A"): F(100)},
        fixed={},
        dosed={},
        newcomers=frozenset(),
        pulls=(),
        ph_window=window,
    )


@st.composite
def points(draw: st.DrawFn) -> dict[Slot, Fraction]:
    picked = {
        Slot(name, "A"): draw(st.integers(100, 9000)) * GRID
        for name in draw(st.lists(st.sampled_from(LINES[1:]), unique=True, min_size=2, max_size=7))
    }
    total = sum(picked.values(), F(0))
    assume(total < 80)
    return {**picked, Slot("water", "A"): 100 - total}


def told(of: ForecastOf, shares: Mapping[Slot, Fraction]) -> Told:
    amounts = Amounts(tuple(sorted(shares.items())), world().ingredients)
    found = foretell(of, amounts, world().ph_window, world().substances, world().labels)
    if not isinstance(found, Told):
        assume(False)
        raise AssertionError(found.reason)
    return found


def met(rule: Forecast, shares: Mapping[Slot, Fraction]) -> bool:
    return next(v.met for v in judge(replace(world(), rules=(rule,)), shares) if v.rule is rule)


def rows_hold(rule: Forecast, shares: Mapping[Slot, Fraction], *, lenient: bool) -> bool:
    at = Incumbent({slot.ingredient: share for slot, share in shares.items()})
    model = build(replace(world(), rules=(rule,)), incumbent=at, lenient=lenient)
    values = {f"x:{slot}": share for slot, share in shares.items()}
    for row in model.rows:
        if row.rule == rule.head.id:
            value = sum((coef * values.get(name, F(0)) for name, coef in row.coef), F(0))
            below = row.lower is not None and value < row.lower
            if below or (row.upper is not None and value > row.upper):
                return False
    return True


@pytest.mark.parametrize("of", FORECASTS)
def test_every_line_of_this_world_has_the_numbers(of: ForecastOf) -> None:
    assert not [n for n, one in world().ingredients.items() if gap(of, one, world().substances)]


@OFTEN
@given(st.sampled_from(FORECASTS), points(), st.sampled_from(["0.9", "0.99", "1.01", "1.1"]).map(F))
def test_rows_and_judge_agree_on_both_sides_of_the_limit(
    of: ForecastOf, shares: dict[Slot, Fraction], part: Fraction
) -> None:
    value = told(of, shares).value
    assume(value > F("0.01"))
    if of == "water_activity":
        limit = 1 - (1 - value) * part
        assume(value < 1)
        assume(limit < 1)
        floor, ceiling = Forecast(HEAD, of, limit, None, True), Forecast(HEAD, of, None, limit, True)
        holds = (part > 1, part < 1)
    else:
        limit = value * part
        floor, ceiling = Forecast(HEAD, of, limit, None, True), Forecast(HEAD, of, None, limit, True)
        holds = (part < 1, part > 1)
    for rule, wanted in ((floor, holds[0]), (ceiling, holds[1])):
        one_sided = {"buffer": ceiling, "hlb": floor, "undissolved": floor, "allergens": floor}
        if one_sided.get(of) is rule:
            continue
        assert met(rule, shares) is wanted
        if of != "undissolved":
            assert rows_hold(rule, shares, lenient=False) is wanted


@OFTEN
@given(st.sampled_from(FORECASTS), points(), st.booleans())
def test_what_the_judge_lets_pass_meets_the_needed_rows(
    of: ForecastOf, shares: dict[Slot, Fraction], surely: bool
) -> None:
    found = told(of, shares)
    head = replace(HEAD, surely=surely)
    low, high = (found.low, found.high) if surely else (found.value, found.value)
    if of in ("hlb", "undissolved", "allergens"):
        rule = Forecast(head, of, None, high, True)
    elif of == "buffer":
        rule = Forecast(head, of, low, None, True)
    else:
        rule = Forecast(head, of, low * F("0.999"), high * F("1.001"), True)
        assume(of != "water_activity" or high * F("1.001") < 1)
    assume(met(rule, shares))
    assert rows_hold(rule, shares, lenient=True)


@pytest.mark.parametrize("lenient", [True, False])
@pytest.mark.parametrize("limit", ["0", "0.1", "0.3", "0.999999999999", "1"])
def test_a_water_activity_is_asked_at_the_ends_of_what_there_is(limit: str, lenient: bool) -> None:
    """No limit that may be written stops the rows, and needed ones say no more than the judge."""
    syrup = {Slot("glycerin", "A"): F(20), Slot("water", "A"): F(80)}
    for shares in ({Slot("water", "A"): F(100)}, syrup):
        for low, high in ((F(limit), None), (None, F(limit))):
            rule = Forecast(HEAD, "water_activity", low, high, True)
            holds = rows_hold(rule, shares, lenient=lenient)
            if lenient:
                assert holds or not met(rule, shares)
            elif limit != "0.999999999999":
                assert holds is met(rule, shares)


@OFTEN
@given(points(), st.integers(500, 4000))
def test_more_humectant_lowers_water_activity_and_the_freezing_point(
    shares: dict[Slot, Fraction], steps: int
) -> None:
    water, glycerin = Slot("water", "A"), Slot("glycerin", "A")
    more = {**shares, glycerin: shares.get(glycerin, F(0)) + steps * GRID}
    more[water] = shares[water] - steps * GRID
    assert told("water_activity", more).value < told("water_activity", shares).value
    assert told("frost_proof", more).value > told("frost_proof", shares).value


def test_glycerin_in_water_as_in_the_printed_table() -> None:
    """20 % glycerol: water activity 0.95, ice from -5.5 °C (from memory); the ideal sum is half a K late."""
    shares = {Slot("glycerin", "A"): F(20), Slot("water", "A"): F(80)}
    assert abs(float(told("water_activity", shares).value) - 0.951) < 0.005
    assert -0.6 < float(told("frost_proof", shares).value) - 5.5 < 0.1


def test_less_stays_out_of_solution_where_that_is_asked() -> None:
    made = asked(demo(), "oat-rose-mask").request
    free = Forecast(HEAD, "undissolved", None, F(0), True)
    before = next(v for v in judge(replace(made, rules=(free,)), made.base) if v.rule is free)
    assert before.value is not None
    assert before.value > 0
    rule = replace(free, high=before.value * F("0.9"))
    (proposal,) = search(replace(made, rules=(*made.rules, rule)), limits=Limits()).proposals
    verdict = next(v for v in proposal.verdicts if v.rule is rule)
    assert verdict.met
    assert verdict.value is not None
    assert verdict.value <= before.value * F("0.9") + F("0.000001")
