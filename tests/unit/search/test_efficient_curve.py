"""The curve of a model in two costs, held against every set of whole choices solved one by one."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.model.rows import Model, Row, Var
from optimiser.search.efficient import WITHIN, Efficient, NoCurve, efficient
from optimiser.search.envelope import height, lower, pieces_of
from optimiser.solver.highs import solve_lp
from optimiser.solver.interface import Limits, Outcome

F = Fraction
PLACES = 10


def blend(seed: int) -> tuple[Model, tuple[dict[str, Fraction], dict[str, Fraction]]]:
    """Six things of which at most three are used, each between a least and a most; two costs. Invented."""
    dice = random.Random(seed)
    names = [f"x{n}" for n in range(6)]
    flags = [f"y{n}" for n in range(6)]
    rows = [Row("total", tuple((x, F(1)) for x in names), F(10), F(10))]
    rows.append(Row("few", tuple((y, F(1)) for y in flags), None, F(3)))
    for x, y in zip(names, flags, strict=True):
        rows.append(Row(f"most {x}", ((x, F(1)), (y, F(-dice.randint(4, 8)))), None, F(0)))
        rows.append(Row(f"least {x}", ((x, F(1)), (y, F(-1))), F(0), None))
    strong = tuple((x, F(dice.randint(1, 9))) for x in names)
    rows.append(Row("strength", strong, F(30), None))
    variables = [*(Var(x, F(0), F(10)) for x in names), *(Var(y, F(0), F(1), "B") for y in flags)]
    first = {name: F(dice.randint(1, 20)) for name in names}
    second = {name: F(dice.randint(0, 20)) for name in names}
    second |= {flag: F(dice.randint(0, 15)) for flag in flags}
    return Model("blend", tuple(variables), tuple(rows)), (first, second)


def least_second(model: Model, costs: tuple[dict[str, Fraction], dict[str, Fraction]], cap: float) -> float:
    """The least second cost with the first at most `cap`, by trying every set of whole choices."""
    row = Row("cap", tuple(sorted(costs[0].items())), None, F(repr(cap)))
    best = float("inf")
    capped = model.with_rows((row,)).with_cost(costs[1])
    for chosen in itertools.product((F(0), F(1)), repeat=len(model.whole)):
        if not 1 <= sum(chosen) <= 3:
            continue
        fixed = capped.with_bounds({n: (v, v) for n, v in zip(model.whole, chosen, strict=True)})
        answer = solve_lp(fixed)
        if answer.outcome is Outcome.OPTIMAL and answer.objective is not None:
            best = min(best, answer.objective)
    return best


@pytest.mark.parametrize("seed", range(6))
def test_the_curve_is_what_trying_every_choice_gives(seed: int) -> None:
    model, costs = blend(seed)
    found = efficient(model, costs, Limits(), lambda _: None)
    if isinstance(found, NoCurve):
        assert least_second(model, costs, 1000.0) == float("inf")
        return
    assert found.exact
    for n in range(PLACES + 1):
        x = n / PLACES
        cap = found.start[0] + found.span[0] * x
        own = min(height(list(found.edge), x), 1.0)
        reached = found.start[1] + found.span[1] * own
        room = WITHIN * found.span[0]
        if n:
            assert reached <= least_second(model, costs, cap - room) + WITHIN * found.span[1] + 1e-6
        assert reached >= least_second(model, costs, cap + room) - 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_every_place_of_the_curve_is_an_answer_of_the_model(seed: int) -> None:
    model, costs = blend(seed)
    found = efficient(model, costs, Limits(), lambda _: None)
    assert isinstance(found, Efficient)
    for piece in found.edge:
        for x in (piece.x1, (piece.x1 + piece.x2) / 2, piece.x2):
            values = {name: F(repr(round(v, 12))) for name, v in found.values_at(piece, x).items()}
            assert all(broken.by < F(1, 10**6) for broken in model.violations(values))


def test_a_model_without_an_answer_has_no_curve() -> None:
    model, costs = blend(0)
    broken = model.with_rows((Row("more", (("x0", F(1)),), F(99), None),))
    found = efficient(broken, costs, Limits(), lambda _: None)
    assert isinstance(found, NoCurve)
    assert found.infeasible


def test_what_the_solves_do_not_reach_is_not_called_exact() -> None:
    model, costs = blend(1)
    found = efficient(model, costs, Limits(), lambda _: None, most=4)
    assert isinstance(found, Efficient)
    assert not found.exact


def test_two_costs_that_agree_leave_one_formula() -> None:
    model, costs = blend(2)
    found = efficient(model, (costs[0], costs[0]), Limits(), lambda _: None)
    assert isinstance(found, Efficient)
    assert len(found.edge) == len(found.lines) == 1
    assert found.exact


def test_the_lower_of_two_lines_changes_hands_where_they_cross() -> None:
    one = pieces_of(0, [(0.0, 1.0), (1.0, 0.0)], 1.0)
    other = pieces_of(1, [(0.25, 0.5), (0.5, 0.45)], 1.0)
    edge = lower(one, other)
    assert [piece.owner for piece in edge] == [0, 1, 1, 0]
    assert edge[0].x2 == pytest.approx(0.25)
    assert edge[-1].x1 == pytest.approx(0.55)
    assert [height(edge, x) for x in (0.1, 0.3, 0.5, 0.9)] == pytest.approx([0.9, 0.49, 0.45, 0.1])


def test_a_proved_piece_stays_proved_where_nothing_lower_comes() -> None:
    whole = [replace(piece, proved=True) for piece in pieces_of(0, [(0.0, 1.0), (1.0, 0.0)], 1.0)]
    edge = lower(whole, pieces_of(1, [(0.5, 0.2)], 1.0))
    assert [(piece.owner, piece.proved) for piece in edge] == [(0, True), (1, False), (0, True)]
