"""The runner-up of a line and its price: known answers, every set tried, and asking anew on either side."""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.ingredient import Pack
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Amount, Cost, Level, Mean, Needs, Newcomers, Rule, Share
from optimiser.domain.selector import Pick
from optimiser.domain.why import LineWhy, RunnerUp
from optimiser.explain.holding import ground_of, lines_of
from optimiser.explain.runner_up import with_runners_up
from optimiser.lp import names
from optimiser.lp.aims import objectives
from optimiser.lp.build import build
from optimiser.search.propose import search, silent
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Outcome
from tests.points import clays, only
from tests.small import fr, head, request

CLAYS = Pick("group", "clay")
SOME = ("water", "kaolin", "illite", "glycerin", "xanthan", "konjac", "bentonite")
CLAY = Share(head("clay"), CLAYS, fr(20))
THICK = Level(head("thick"), "thickening", fr("0.9"))
SOLID = Mean(head("solid"), "solids", fr("19.8"))


def asked(*rules: Rule, names: tuple[str, ...] = SOME, aim: str = "cheapest") -> Request:
    one = only(request(formula=clays(kaolin="20")), names)
    slots = tuple(Slot(name, "B") for name in names)
    return replace(one, slots=slots, rules=rules, pulls=(), aim=(aim,))  # type: ignore[arg-type]


def lines_for(one: Request) -> dict[str, LineWhy]:
    (proposal,) = search(one, limits=Limits()).proposals
    ground = ground_of(one, proposal, Limits())
    return {line.ingredient: line for line in with_runners_up(ground, lines_of(ground, silent), silent)}


def runner_up(one: Request, line: str) -> RunnerUp:
    found = lines_for(one)[line].runner_up
    assert found is not None
    return found


def priced(one: Request, name: str, price: Fraction) -> Request:
    changed = replace(one.ingredients[name], pack=Pack(Fraction(1000), price))
    return replace(one, ingredients={**one.ingredients, name: changed})


def least_by_sets(one: Request) -> dict[frozenset[str], float]:
    """The least cost of every set of ingredients that has a formula, each solved by itself."""
    aim = objectives(one)[0]
    model = build(one).with_cost(aim.cost)
    here = sorted(one.ingredients)
    found = {}
    for bits in itertools.product((0, 1), repeat=len(here)):
        bounds = {names.used(i): (Fraction(b), Fraction(b)) for i, b in zip(here, bits, strict=True)}
        answer = solve_milp(model.with_bounds(bounds))
        if answer.outcome is Outcome.OPTIMAL and answer.objective is not None:
            found[frozenset(i for i, b in zip(here, bits, strict=True) if b)] = answer.objective
    return found


def test_of_two_clays_that_do_the_same_the_price_is_that_of_the_other() -> None:
    found = runner_up(asked(CLAY, names=("water", "kaolin", "illite")), "kaolin")
    assert (found.ingredient, found.price, found.comes_in) == ("illite", fr(9), fr(4))


def test_where_more_is_needed_of_it_the_price_is_less_by_exactly_that() -> None:
    """Kaolin has 99 % solids and illite 98; both stand in for water at 0.50."""
    found = runner_up(asked(SOLID, names=("water", "kaolin", "illite")), "kaolin")
    assert found.comes_in == fr("0.5") + fr("3.5") * 98 / 99


def test_a_place_that_has_to_be_taken_from_another_counts() -> None:
    """Konjac thickens three times as much as xanthan at 20.00; what is left of the place is water at 0.50."""
    found = runner_up(asked(CLAY, THICK, names=("water", "kaolin", "xanthan", "konjac")), "konjac")
    assert found.ingredient == "xanthan"
    assert found.comes_in == fr("0.5") + fr("29.5") / 3


def test_what_brings_something_dear_does_not_come_even_for_nothing() -> None:
    need = Needs(head("need"), Pick("ingredient", "illite"), fr(0), Pick("ingredient", "konjac"), fr(5))
    found = runner_up(asked(CLAY, need, names=("water", "kaolin", "illite", "konjac")), "kaolin")
    assert (found.ingredient, found.comes_in) == ("illite", None)


@pytest.mark.parametrize(
    "rules",
    [
        (CLAY, THICK),
        (CLAY, THICK, Newcomers(head("n"), 1)),
        (CLAY, SOLID, Amount(head("most"), "kaolin", None, fr(12))),
        (CLAY, THICK, Cost(head("cap"), fr("1.5"))),
    ],
)
def test_at_that_price_both_cost_the_same_and_no_set_costs_less(rules: tuple[Rule, ...]) -> None:
    one = asked(*rules)
    best = min(least_by_sets(one).values())
    told = {line.runner_up for line in lines_for(one).values() if line.runner_up and line.runner_up.comes_in}
    assert told
    for found in told:
        assert found.comes_in is not None
        reached = least_by_sets(priced(one, found.ingredient, found.comes_in))
        having = min(cost for names, cost in reached.items() if found.ingredient in names)
        assert having == pytest.approx(best, abs=1e-6)
        assert min(reached.values()) == pytest.approx(best, abs=1e-6)
        for by, comes in ((fr("-0.05"), True), (fr("0.05"), False)):
            (answer,) = search(priced(one, found.ingredient, found.comes_in + by), limits=Limits()).proposals
            assert (found.ingredient in {line.ingredient for line in answer.lines}) is comes


def test_where_the_aim_is_not_money_there_is_no_price() -> None:
    assert all(line.runner_up is None for line in lines_for(asked(CLAY, THICK, aim="closest")).values())
