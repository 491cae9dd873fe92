"""The exact simplex against HiGHS, against every corner of small regions, and against its own proofs."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.farkas import prove_infeasible
from optimiser.certify.linear import Factor
from optimiser.certify.proof import Cases, Farkas, Feasible, Optimum, Unbounded
from optimiser.certify.simplex import solve_exactly
from optimiser.certify.verify import adds_up, covers, is_answer, is_optimal, is_unbounded
from optimiser.model.basis import Basis, Standing
from optimiser.model.mps import read_mps
from optimiser.model.mps_text import write_mps
from optimiser.model.neutral import read_neutral, write_neutral
from optimiser.model.rows import Model
from optimiser.solver.highs import Session, relax, solve_lp
from optimiser.solver.interface import Outcome
from optimiser.workflows.solve_model import solve_model
from tests.effort import tries
from tests.properties.strategies import models

calm = tries(300)


@calm
@given(models(most=5))
def test_every_answer_proves_itself_and_agrees_with_highs(model: Model) -> None:
    found = solve_exactly(model)
    floats = solve_lp(model)
    if isinstance(found, Optimum):
        assert is_optimal(model, found)
        assert floats.outcome is Outcome.OPTIMAL
        assert floats.objective == pytest.approx(float(found.objective), abs=1e-6, rel=1e-6)
    elif isinstance(found, Farkas):
        assert adds_up(model, found)
        assert floats.outcome is Outcome.INFEASIBLE
    else:
        assert isinstance(found, Unbounded)
        assert is_unbounded(model, found)
        assert floats.outcome is Outcome.UNBOUNDED


@calm
@given(models(most=4), st.data())
def test_the_start_does_not_change_the_answer(model: Model, data: st.DataObject) -> None:
    standings: list[Standing] = ["basic", "lower", "upper", "zero"]
    pick = st.sampled_from(standings)
    basis = Basis(
        {v.name: data.draw(pick) for v in model.vars}, {r.name: data.draw(pick) for r in model.rows}
    )
    plain, started = solve_exactly(model), solve_exactly(model, basis)
    assert type(plain) is type(started)
    if isinstance(plain, Optimum) and isinstance(started, Optimum):
        assert plain.objective == started.objective
        assert is_optimal(model, started)


@calm
@given(models(most=4))
def test_a_float_ray_leads_to_a_proof_that_adds_up(model: Model) -> None:
    floats = solve_lp(model)
    if floats.outcome is Outcome.INFEASIBLE:
        proof = prove_infeasible(model, floats.ray, floats.basis)
        assert proof is not None
        assert adds_up(model, proof)


def corners(model: Model) -> Iterator[dict[str, Fraction]]:
    """Every corner of the region, from every choice of as many tight limits as there are variables."""
    names = [v.name for v in model.vars]
    sides: list[tuple[dict[str, Fraction], Fraction]] = []
    for what, coef in [(v, {v.name: Fraction(1)}) for v in model.vars]:
        sides += [(coef, limit) for limit in {what.lower, what.upper} if limit is not None]
    for r in model.rows:
        sides += [(dict(r.coef), limit) for limit in {r.lower, r.upper} if limit is not None]
    for picked in itertools.combinations(sides, len(names)):
        columns = [{i: coef[n] for i, (coef, _) in enumerate(picked) if n in coef} for n in names]
        factor = Factor(columns)
        if factor.missing:
            continue
        point = factor.solve({i: limit for i, (_, limit) in enumerate(picked) if limit})
        values = {name: point.get(j, Fraction(0)) for j, name in enumerate(names)}
        if not model.violations(values):
            yield values


@calm
@given(models(boxed=True, most=3))
def test_the_optimum_is_the_best_corner(model: Model) -> None:
    found = solve_exactly(model)
    costs = [model.evaluate(values) for values in corners(model)]
    if isinstance(found, Optimum):
        assert found.objective == (min(costs) if model.sense == "min" else max(costs))
    else:
        assert isinstance(found, Farkas)
        assert not costs


def every_answer(model: Model) -> list[dict[str, Fraction]]:
    spans = [range(int(v.lower or 0), int(v.upper or 0) + 1) for v in model.vars]
    points = (
        {v.name: Fraction(n) for v, n in zip(model.vars, p, strict=True)} for p in itertools.product(*spans)
    )
    return [point for point in points if not model.violations(point)]


@calm
@given(models(kinds="I", boxed=True, most=4))
def test_cases_refute_exactly_what_has_no_answer(model: Model) -> None:
    found = prove_infeasible_by_cases(model, relax)
    if every_answer(model):
        assert isinstance(found, Feasible)
        assert is_answer(model, found)
    else:
        assert isinstance(found, Cases)
        assert covers(model, found)


@calm
@given(models(kinds="I", boxed=True, most=4))
def test_whole_optima_are_certified_and_right(model: Model) -> None:
    report = solve_model(model)
    costs = [model.evaluate(point) for point in every_answer(model)]
    assert report.certified
    if costs:
        assert report.objective == (min(costs) if model.sense == "min" else max(costs))
    else:
        assert report.answer == "infeasible"


@calm
@given(models(kinds="CI", boxed=True, most=3), st.data())
def test_a_session_that_moved_equals_a_new_model(model: Model, data: st.DataObject) -> None:
    session = Session(model.relaxed())
    session.solve()
    name = data.draw(st.sampled_from([v.name for v in model.vars]))
    low, high = sorted((Fraction(data.draw(st.integers(-4, 4))), Fraction(data.draw(st.integers(-4, 4)))))
    session.move_bounds(name, low, high)
    moved = solve_lp(model.with_bounds({name: (low, high)}))
    found = session.solve()
    assert found.outcome is moved.outcome
    if found.objective is not None:
        assert found.objective == pytest.approx(moved.objective, abs=1e-7)


@calm
@given(models(kinds="CI", most=5))
def test_both_texts_are_read_back_without_loss(model: Model) -> None:
    assert read_neutral(write_neutral(model)) == (model, ())
    assert read_mps(write_mps(model, digits=None)) == (model, ())


@calm
@given(models(kinds="CI", boxed=True, most=4), st.data())
def test_the_order_of_rows_and_columns_changes_nothing(model: Model, data: st.DataObject) -> None:
    turned = replace(
        model,
        vars=tuple(data.draw(st.permutations(model.vars))),
        rows=tuple(data.draw(st.permutations(model.rows))),
    )
    one, two = solve_model(model), solve_model(turned)
    assert (one.answer, one.objective, one.certified) == (two.answer, two.objective, two.certified)
