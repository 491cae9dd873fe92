"""A model kept alive while its cost and rows move answers as one that is written anew each time."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.model.rows import Model, Row, Var
from optimiser.solver.highs import solve_lp, solve_milp
from optimiser.solver.interface import Outcome
from optimiser.solver.moving import Moving, narrowed, ruled_out

ONE, ZERO, HUNDRED = Fraction(1), Fraction(0), Fraction(100)
FOUR = range(4)


def _model(prices: list[int], fees: list[int], least: int, most_used: int, active: list[int]) -> Model:
    """Shares of four ingredients to 100 %, each with a fee for being used, a floor on their active part."""
    shares = [Var(f"x{i}", ZERO, Fraction(60)) for i in FOUR]
    used = [Var(f"u{i}", ZERO, ONE, "B") for i in FOUR]
    rows = [
        Row("total", tuple((f"x{i}", ONE) for i in FOUR), HUNDRED, HUNDRED),
        Row("active", tuple((f"x{i}", Fraction(active[i], 10)) for i in FOUR), Fraction(least), None),
        Row("few", tuple((f"u{i}", ONE) for i in FOUR), None, Fraction(most_used)),
        *(Row(f"there{i}", ((f"u{i}", -HUNDRED), (f"x{i}", ONE)), None, ZERO) for i in FOUR),
        *(Row(f"trace{i}", ((f"u{i}", -ONE), (f"x{i}", ONE)), ZERO, None) for i in FOUR),
    ]
    cost = {f"x{i}": Fraction(prices[i], 100) for i in FOUR} | {f"u{i}": Fraction(fees[i]) for i in FOUR}
    return Model("made", (*shares, *used), tuple(rows)).with_cost(cost)


numbers = st.lists(st.integers(0, 9), min_size=4, max_size=4)
models = st.builds(_model, numbers, numbers, st.integers(0, 60), st.integers(2, 4), numbers)
floors = st.lists(st.integers(0, 60), min_size=1, max_size=4)


def _same(one: Moving, model: Model) -> None:
    found, fresh = one.solve(), solve_milp(model)
    assert found.outcome is fresh.outcome
    if fresh.outcome is Outcome.OPTIMAL and fresh.objective is not None and found.objective is not None:
        assert abs(found.objective - fresh.objective) < 1e-6
        exact = {name: Fraction(value).limit_denominator(10**6) for name, value in found.values.items()}
        assert all(broken.by < Fraction(1, 10**4) for broken in model.violations(exact))


@settings(max_examples=20, deadline=None)
@given(models, floors, numbers)
def test_answers_as_a_model_written_anew(model: Model, limits: list[int], other: list[int]) -> None:
    moving = Moving(model)
    _same(moving, model)
    for limit in limits:
        coef = tuple((f"x{i}", Fraction(other[i] + 1, 10)) for i in FOUR)
        row = Row("active", coef, Fraction(limit), None)
        model = replace(model, rows=tuple(row if one.name == "active" else one for one in model.rows))
        moving.rewrite(row)
        _same(moving, model)
    for way in (ONE, -ONE):
        moving.move_cost({"x0": way})
        _same(moving, model.with_cost({"x0": way}))


@settings(max_examples=20, deadline=None)
@given(models, st.integers(0, 5))
def test_what_is_ruled_out_is_in_no_answer_as_good(model: Model, more: int) -> None:
    best = solve_milp(model)
    if best.objective is None:
        return
    ceiling = best.objective + more
    for var in (var for var in narrowed(model, Fraction(ceiling)).vars if var.kind == "B"):
        if var.lower != var.upper or var.lower is None:
            continue
        other = ONE - var.lower
        forced = solve_milp(model.with_bounds({var.name: (other, other)}))
        assert forced.objective is None or forced.objective > ceiling


def test_the_relaxations_prices_rule_out_what_is_too_dear() -> None:
    """x0 alone does: its fee is 1, another's 50, and a share of any costs nothing."""
    model = _model([0, 9, 9, 9], [1, 50, 50, 50], 0, 4, [0, 0, 0, 0]).with_bounds({"x0": (ZERO, HUNDRED)})
    root = solve_lp(model)
    out = ruled_out(tuple(var for var in model.vars if var.kind == "B"), root, 1.0)
    assert out
    assert all(ends == (ZERO, ZERO) for ends in out.values())
    assert "u0" not in out
    assert narrowed(model, ONE).vars != model.vars
    assert solve_milp(narrowed(model, ONE)).objective == 1.0


def test_says_that_there_is_no_answer() -> None:
    model = _model([1] * 4, [1] * 4, 0, 2, [1] * 4).with_bounds({"x0": (ZERO, ZERO), "x1": (ZERO, ZERO)})
    none = model.with_bounds({f"u{i}": (ZERO, ZERO) for i in FOUR})
    assert Moving(none).solve().outcome is Outcome.INFEASIBLE
    assert Moving(model).solve().outcome is Outcome.OPTIMAL
