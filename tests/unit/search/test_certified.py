"""The best value of a stage in fractions: it equals trying everything, and no better answer slips through."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.model.rows import Model, Row, Var
from optimiser.search.certified import exact_answer, proved_best, proved_bound
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Outcome
from tests.workflows.desk import asked, demo

F = Fraction


def knapsack(costs: list[int], weights: list[int], need: int) -> Model:
    """The cheapest of yes-or-no choices whose weights reach `need`, with a fraction of a last good at 7/3."""
    choices = [Var(f"x{i}", F(0), F(1), "I") for i in range(len(costs))]
    rest = Var("rest", F(0), F(1, 3), "C")
    coef = tuple((f"x{i}", F(w)) for i, w in enumerate(weights))
    cost = {f"x{i}": F(c) for i, c in enumerate(costs)} | {"rest": F(7, 3)}
    model = Model("pick", (*choices, rest), (Row("need", (*coef, ("rest", F(3))), F(need), None),))
    return model.with_cost(cost)


def best_by_trying(costs: list[int], weights: list[int], need: int) -> Fraction | None:
    found = []
    for chosen in itertools.product((0, 1), repeat=len(costs)):
        lack = max(F(0), F(need - sum(w * c for w, c in zip(weights, chosen, strict=True))))
        if lack <= 1:
            found.append(sum(F(p * c) for p, c in zip(costs, chosen, strict=True)) + lack / 3 * F(7, 3))
    return min(found, default=None)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=6),
    st.integers(1, 20),
)
def test_what_is_proved_is_what_trying_everything_gives(goods: list[tuple[int, int]], need: int) -> None:
    costs, weights = [cost for cost, _ in goods], [weight for _, weight in goods]
    model, wanted = knapsack(costs, weights, need), best_by_trying(costs, weights, need)
    answer = solve_milp(model)
    assert (answer.outcome is Outcome.OPTIMAL) == (wanted is not None)
    if wanted is not None:
        proof = proved_bound(model, answer.values)
        assert proof is not None
        assert proof.reached == wanted
        assert wanted - proof.step <= proof.reached


def test_a_worse_answer_is_not_proved_the_best_but_mended() -> None:
    model = knapsack([2, 9], [5, 5], 5)
    dear = {"x0": F(0), "x1": F(1), "rest": F(0)}
    proof = proved_best(model, dear)
    assert proof is not None
    assert proof.reached == 2


def test_too_few_cases_prove_nothing() -> None:
    model = knapsack([3, 4, 5, 6], [4, 5, 7, 8], 13)
    answer = solve_milp(model)
    assert proved_bound(model, answer.values, 400) is not None
    assert proved_bound(model, answer.values, 1) is None


def test_an_answer_that_breaks_a_row_is_none() -> None:
    assert exact_answer(knapsack([2], [5], 5), {"x0": 0.0, "rest": 0.0}) is None


@pytest.mark.parametrize("aim", ["closest", "cheapest"])
def test_a_proposal_of_the_balm_is_proved_in_fractions(aim: str) -> None:
    proposal = asked(demo(), "sunflower-balm", aim=(aim,), certify=400).proposals[0]  # type: ignore[union-attr]
    stage = proposal.stages[0]
    assert stage.proved is not None
    assert stage.proved <= stage.value
    assert stage.value - stage.proved <= F(1, 1000)
    assert stage.cases >= 1
    assert all(one.proved is None for one in proposal.stages[1:])
