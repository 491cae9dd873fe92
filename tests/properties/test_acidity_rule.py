"""The predicted pH window as rows and as a verdict: what one lets through, the other does."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import broken, judge, verdict_on
from optimiser.domain.ingredient import Figure
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import GRID, Request, Slot
from optimiser.domain.rules import Acidity, Amount, Rule
from optimiser.explain.conflict import hard_model
from optimiser.lp.build import build
from optimiser.science.acidity import kept_off, ph_range, solve_ph
from optimiser.science.formula import profiles_for
from optimiser.search.propose import search
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import solve
from tests.acids import TABLE, at_values, corners, rows_kept, window, world
from tests.effort import tries
from tests.small import fr, head

SOME = tries(100)
FEW = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
MOST = {
    "kaolin": 200, "bentonite": 80, "benzoate": 6, "sorbate": 6, "lactate": 40, "citrate": 15, "salt": 10,
    "glycerin": 60,
}  # fmt: skip
"""Tenths of a per cent."""
CEILINGS = {"citric": 60, "lactic": 25, "lye": 20}
CLAYS = ("kaolin", "bentonite")
ASSUMED = {
    name: replace(one, figures={key: replace(f, status="assumed") for key, f in one.figures.items()})
    for name, one in TABLE.items()
}
TINY = Fraction(1, 10**6)


@st.composite
def jars(draw: st.DrawFn) -> tuple[dict[str, Fraction], dict[str, Fraction]]:
    """(fixed shares, ceilings of the lines dosed by reading): none, an acid, an alkali, or several."""
    there = draw(st.lists(st.sampled_from(sorted(MOST)), unique=True, min_size=1, max_size=6))
    base = {name: Fraction(draw(st.integers(1, MOST[name])), 10) for name in there}
    dosed = draw(st.sampled_from([(), ("citric",), ("lye",), ("citric", "lye"), ("lactic", "citric")]))
    ceilings = {name: Fraction(draw(st.integers(1, CEILINGS[name])), 10) for name in dosed}
    if "citric" not in dosed and draw(st.booleans()):
        base["citric"] = Fraction(draw(st.integers(1, 40)), 10)
    return base, ceilings


@st.composite
def asked_of(draw: st.DrawFn) -> Request:
    """A jar with a window near what it can reach: a hair inside, a hair outside, or well apart."""
    base, ceilings = draw(jars())
    worst = draw(st.booleans())
    table = draw(st.sampled_from([TABLE, ASSUMED]))
    probe = world([window("1", "13", ceilings, worst=worst)], base, ceilings, table)
    least, most = by_ends(probe)
    low, high = least + draw(st.sampled_from(NEAR)), most + draw(st.sampled_from(NEAR))
    if draw(st.booleans()):
        low = most - Fraction(draw(st.integers(1, 20)), 10)
    assume(2 < low < high < 12)
    return world([window(low, high, ceilings, worst=worst)], base, ceilings, table)


NEAR = tuple(Fraction(sign * n, 10**6) for n in (2, 3000, 40000, 200000, 900000) for sign in (-1, 1))


def by_ends(asked: Request) -> tuple[Fraction, Fraction]:
    """(the highest of the lowest pH, the lowest of the highest) over states of the adjusters."""
    (rule,) = asked.rules
    assert isinstance(rule, Acidity)
    profiles = profiles_for(asked.ingredients.values(), asked.substances)
    spans = []
    for dose in states(rule.adjusters):
        grams = {s.ingredient: v * dose.get(s.ingredient, Fraction(1)) for s, v in asked.base.items()}
        span = ph_range(grams, profiles)
        assert span is not None
        middle = span if rule.head.at_worst else (solve_ph(grams, profiles).ph or 0.0,) * 2
        spans.append(middle)
    lows, highs = (span[0] for span in spans), (span[1] for span in spans)
    return Fraction(repr(round(max(lows), 6))), Fraction(repr(round(min(highs), 6)))


def reached(asked: Request, side: str) -> Fraction:
    """The pH that the foot ("least") or the top of a window must take in, over doses and data."""
    found = []
    names = [name for name in CLAYS if name in asked.ingredients]
    (rule,) = asked.rules
    assert isinstance(rule, Acidity)
    parts = ("0", "1") if rule.head.at_worst else ("1/2",)
    for chosen in corners(names, parts) if rule.head.at_worst else ((),):
        table = at_values(asked.ingredients, chosen)
        doses = [ph_at(replace(asked, ingredients=table), dose) for dose in states(rule.adjusters)]
        found.append(max(doses) if side == "least" else min(doses))
    return Fraction(repr(round(min(found) if side == "least" else max(found), 6)))


def states(adjusters: tuple[str, ...]) -> list[dict[str, Fraction]]:
    """Each of the adjusters at none or at its ceiling."""
    found: list[dict[str, Fraction]] = [{}]
    for name in adjusters:
        found = [{**one, name: Fraction(part)} for one in found for part in (0, 1)]
    return found


def ph_at(asked: Request, dose: dict[str, Fraction]) -> float:
    """The solved pH with each dosed line at this part of its ceiling."""
    profiles = profiles_for(asked.ingredients.values(), asked.substances)
    grams = {s.ingredient: share * dose.get(s.ingredient, Fraction(1)) for s, share in asked.base.items()}
    found = solve_ph(grams, profiles).ph
    assert found is not None
    return found


def said(asked: Request, shares: dict[Slot, Fraction] | None = None) -> Verdict:
    there = asked.base if shares is None else shares
    amounts = Amounts(tuple(sorted((s, v) for s, v in there.items() if v)), asked.ingredients)
    (rule,) = [r for r in asked.rules if r.head.id == "test#ph"]
    return verdict_on(rule, amounts, asked)


@SOME
@given(asked_of())
def test_what_meets_the_rows_passes_the_judge_and_what_passes_meets_the_lenient_rows(asked: Request) -> None:
    verdict = said(asked)
    strict, lenient = (rows_kept(asked, asked.base, lenient=side) for side in (False, True))
    if strict:
        assert lenient
        assert verdict.margin is None or verdict.margin >= -TINY, verdict.note
    if verdict.met and verdict.margin is not None:
        assert lenient, verdict.note


@FEW
@given(asked_of())
def test_for_every_value_in_the_data_some_dose_reaches_the_window(asked: Request) -> None:
    """Trying it out: the data at their ends and between, each adjuster in steps to its ceiling."""
    verdict = said(asked)
    assume(verdict.met and verdict.margin is not None)
    (rule,) = asked.rules
    assert isinstance(rule, Acidity)
    names = [name for name in CLAYS if name in asked.ingredients]
    chosen = list(corners(names, ("0", "1/3", "1"))) if rule.head.at_worst else [()]
    for parts in chosen[:: max(1, len(chosen) // 12)]:
        one = replace(asked, ingredients=at_values(asked.ingredients, parts))
        assert some_dose_reaches(one, rule), parts


def some_dose_reaches(asked: Request, rule: Acidity) -> bool:
    """Halving the way from the most alkaline to the most acid dose."""
    doses = sorted(states(rule.adjusters), key=lambda dose: ph_at(asked, dose))
    low, high = doses[0], doses[-1]
    for _ in range(40):
        middle = {name: (low[name] + high[name]) / 2 for name in low}
        for dose in (low, high, middle):
            if float(rule.low - TINY) <= ph_at(asked, dose) <= float(rule.high + TINY):
                return True
        if ph_at(asked, middle) < float(rule.low):
            low = middle
        else:
            high = middle
    return False


@FEW
@given(asked_of())
def test_where_no_dose_would_do_the_judge_says_no(asked: Request) -> None:
    verdict = said(asked)
    assume(not verdict.met and verdict.margin is not None)
    (rule,) = asked.rules
    assert isinstance(rule, Acidity)
    least, most = reached(asked, "least"), reached(asked, "most")
    off = kept_off(rule.low, rule.high, dosed=bool(rule.adjusters))
    assert least < rule.low + off + 2 * TINY or most > rule.high - off - 2 * TINY


@st.composite
def wanted(draw: st.DrawFn) -> Request:
    """A jar whose window must be found: clays and salts may come, adjusters are kept or gone."""
    base, ceilings = draw(jars())
    low = Fraction(draw(st.integers(36, 72)), 10)
    high = low + Fraction(draw(st.integers(1, 10)), 10)
    rules: list[Rule] = [window(low, high, ceilings, worst=draw(st.booleans()))]
    for name in draw(st.lists(st.sampled_from(sorted(base)), unique=True, max_size=2)):
        floor = base[name] * Fraction(draw(st.sampled_from(["0.5", "0.9", "1"])))
        rules.append(Amount(head(f"keep {name}"), name, floor, None))
    rules += [
        Amount(head(f"most {name}"), name, None, fr(8)) for name in ("lye", "lactic", "bentonite", "lactate")
    ]
    come = draw(st.lists(st.sampled_from(sorted(TABLE)), unique=True, max_size=3))
    return world(rules, base, ceilings, come=come)


@FEW
@given(wanted())
def test_proposals_pass_the_judge_and_nothing_that_passes_is_proved_impossible(asked: Request) -> None:
    found = search(asked, limits=Limits())
    for proposal in found.proposals:
        shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
        assert broken(judge(asked, shares)) == ()
        assert all((share / GRID).denominator == 1 for share in shares.values())
        assert proposal.stages[0].bound <= proposal.stages[0].value + Fraction(1, 10**5)
    if broken(judge(asked, asked.base)) == () and said(asked).margin is not None:
        assert solve(hard_model(asked)).outcome is Outcome.OPTIMAL


@FEW
@given(asked_of(), st.randoms(use_true_random=False))
def test_the_order_of_things_changes_neither_rows_nor_verdict(asked: Request, dice: random.Random) -> None:
    more = (*asked.rules, Amount(head("water"), "water", fr(1), None), Amount(head("any"), "kaolin", fr(0)))
    one = replace(asked, rules=more)
    other = replace(
        asked,
        rules=tuple(dice.sample(more, len(more))),
        slots=tuple(dice.sample(asked.slots, len(asked.slots))),
        ingredients=dict(dice.sample(sorted(asked.ingredients.items()), len(asked.ingredients))),
        base=dict(dice.sample(sorted(asked.base.items()), len(asked.base))),
    )
    assert build(one) == build(other)
    assert build(one, lenient=True) == build(other, lenient=True)
    assert judge(one, one.base) == judge(other, other.base)


@tries(40)
@given(jars(), st.integers(30, 80), st.integers(0, 4), st.integers(0, 4))
def test_more_room_to_dose_never_breaks_a_window(
    jar: tuple[dict[str, Fraction], dict[str, Fraction]], tenth: int, lower: int, wider: int
) -> None:
    """A wider window, and no worse data, keep what was met."""
    base, ceilings = jar
    low = Fraction(tenth, 10)
    tight = said(world([window(low, low + fr("0.5"), ceilings)], base, ceilings))
    wide = window(low - Fraction(lower, 10), low + fr("0.5") + Fraction(wider, 10), ceilings)
    if tight.met:
        assert said(world([wide], base, ceilings)).met
        assert said(world([replace(wide, head=replace(wide.head, basis="character"))], base, ceilings)).met


def test_a_figure_is_never_read_from_its_status_alone() -> None:
    """The clays of this table have real ranges: otherwise nothing here would try the ends."""
    for name in CLAYS:
        for figure in TABLE[name].figures.values():
            assert isinstance(figure, Figure)
        assert TABLE[name].figures["buffer_slope"].low < TABLE[name].figures["buffer_slope"].high
