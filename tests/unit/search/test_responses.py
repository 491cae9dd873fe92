"""Proposals under a response that trials taught: the best by brute force, and bent ones that settle."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import broken, judge
from optimiser.checks.responses import taught
from optimiser.domain.outcome import Proposal, Undecided
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Amount, Response
from optimiser.explain.impossible import explain_impossible
from optimiser.search.propose import search
from optimiser.solver.interface import Limits
from tests.small import FORMULA, INGREDIENTS, fr, head, request
from tests.taught import BENT, VARIED, bounds, fitted, rule

F = Fraction
SLOTS = {line.ingredient: Slot(line.ingredient, phase) for phase, line in FORMULA.lines}
STILL = ("benzoate", "bentonite", "sorbate", "xanthan")


def cheap(one: Response) -> Request:
    """The mask for the least money, only kaolin, glycerin and water free to move."""
    base = {line.ingredient: line.percent for _, line in FORMULA.lines}
    still = tuple(Amount(head(f"still {name}"), name, base[name], base[name]) for name in STILL)
    return request(one, *bounds(one.fitted), *still, aim=("cheapest",))


def best(one: Response) -> Proposal:
    found = search(cheap(one), limits=Limits())
    assert found.proposals, found
    return found.proposals[0]


def softness(of: Response, shares: dict[Slot, Fraction]) -> Fraction:
    told = taught(of.fitted, Amounts(tuple(sorted(shares.items())), INGREDIENTS))
    assert told is not None
    return told.value


def brute(one: Response) -> Fraction:
    """The least cost per kg over masks in steps of a tenth of a per cent."""
    base = {line.ingredient: line.percent for _, line in FORMULA.lines}
    rest = 100 - sum(base[name] for name in STILL)
    prices = {name: INGREDIENTS[name].price_per_kg or F(0) for name in base}
    found = []
    for kaolin, glycerin in itertools.product(range(100, 201), range(20, 101)):
        shares = {SLOTS[name]: base[name] for name in STILL}
        shares |= {SLOTS["kaolin"]: F(kaolin, 10), SLOTS["glycerin"]: F(glycerin, 10)}
        shares[SLOTS["water"]] = rest - F(kaolin + glycerin, 10)
        within = VARIED[2].low <= shares[SLOTS["water"]] <= VARIED[2].high
        if within and softness(one, shares) >= (one.low or F(0)):
            found.append(sum((prices[s.ingredient] * x for s, x in shares.items()), F(0)) / 100)
    return min(found)


def shares_of(proposal: Proposal) -> dict[Slot, Fraction]:
    return {SLOTS[line.ingredient]: line.percent for line in proposal.lines}


def test_a_straight_response_is_met_for_the_least_money_there_is() -> None:
    one = rule(fitted(), "6.4")
    cost, least = best(one).cost_per_kg, brute(one)
    assert cost is not None
    assert cost <= least
    assert cost > least - F("0.01")


@pytest.mark.parametrize("surely", [False, True])
def test_a_bent_response_settles_where_the_whole_model_says_so(surely: bool) -> None:
    low = "6.4" if not surely else "5.8"
    one = rule(fitted(BENT), low, surely=surely)
    made = best(one)
    verdicts = judge(cheap(one), shares_of(made))
    assert not broken(verdicts)
    own = next(v for v in verdicts if v.rule is one)
    assert own.margin is not None
    assert 0 <= own.margin < F("0.02"), "it stands at its limit"


def test_beyond_the_trials_it_is_undecided_and_the_most_inside_is_told() -> None:
    asked = cheap(rule(fitted(), "9.5"))
    assert search(asked, limits=Limits()).infeasible
    told = explain_impossible(asked, (), Limits(), off_grid=False, tell=lambda _: None)
    assert isinstance(told, Undecided)
    assert "outside what can be predicted" in told.why
    assert told.why.endswith("beyond them nothing is known, and a trial further out would tell")
    assert "is the most" in told.concessions[0].sentence
    assert told.concessions[0].proposal is not None


def test_a_must_against_where_the_trials_were_is_told_with_both() -> None:
    more = Amount(head("more clay", "Kaolin is at least 25 %."), "kaolin", fr(25), None)
    one = rule(fitted(), "5")
    asked = request(more, one, *bounds(one.fitted), aim=("cheapest",))
    told = explain_impossible(asked, (), Limits(), off_grid=False, tell=lambda _: None)
    assert isinstance(told, Undecided)
    assert told.why.endswith("What stands against them: Kaolin is at least 25 % – kaolin holds")


def test_what_is_impossible_without_it_is_proved_without_it() -> None:
    asked = cheap(rule(fitted(), "5"))
    more = Amount(head("more clay"), "kaolin", fr(45), None)
    told = explain_impossible(request(more, *asked.rules), (), Limits(), off_grid=False, tell=lambda _: None)
    assert "predicted" not in str(getattr(told, "why", ""))
    assert all(not isinstance(r, Response) for c in getattr(told, "conflicts", ()) for r in c.rules)
