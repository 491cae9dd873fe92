"""Exact optima, contradictions and proofs by cases; each one summed up again."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.certify.best import Best, cost_step, prove_best
from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.farkas import combine, prove_infeasible
from optimiser.certify.proof import Cases, Farkas, Feasible, Optimum, Relaxed, Split, Term, Unbounded
from optimiser.certify.simplex import solve_exactly
from optimiser.certify.verify import adds_up, covers, is_answer, is_optimal, is_unbounded
from optimiser.model.basis import Basis
from optimiser.model.rows import Model
from optimiser.solver.highs import relax, solve_lp, solve_milp
from tests.models import knapsack, model, row, var

BLEND = model(
    "max",
    {"x": 3, "y": 2},
    [var("x", 0, 4), var("y")],
    [row("r", {"x": 1, "y": 1}, None, 6), row("s", {"x": 1, "y": 3}, 1, "40/3")],
    constant=10,
)
CLASH = model(
    "min",
    {"x": 1},
    [var("x", 0, 3), var("y"), var("z", None, None)],
    [row("r", {"x": 1, "y": 1, "z": 1}, 10), row("s", {"y": 1}, None, 6), row("t", {"z": 3}, None, "1/2")],
)


def blind(_: Model) -> Relaxed:
    """A float solver that knows nothing."""
    return Relaxed(infeasible=False)


def test_the_exact_optimum_has_a_proof_of_its_own() -> None:
    found = solve_exactly(BLEND)
    assert isinstance(found, Optimum)
    assert found.objective == 26
    assert found.duals == {"r": 2, "s": 0}
    assert found.reduced == {"x": 1, "y": 0}
    assert is_optimal(BLEND, found)


def test_a_wrong_optimum_is_seen() -> None:
    found = solve_exactly(BLEND)
    assert isinstance(found, Optimum)
    lower = replace(found, values={"x": Fraction(4), "y": Fraction(1)}, objective=Fraction(24))
    assert not is_optimal(BLEND, lower)
    assert not is_optimal(BLEND, replace(found, values={"x": Fraction(5), "y": Fraction(1)}))
    assert not is_optimal(BLEND, replace(found, duals={"r": Fraction(1), "s": Fraction(0)}))


def test_a_useless_start_gives_the_same_optimum() -> None:
    start = Basis({"x": "basic", "y": "basic"}, {"r": "zero", "s": "zero"})
    over = Basis({"x": "basic", "y": "basic"}, {"r": "basic", "s": "basic"})
    none = Basis({}, {"r": "zero", "s": "zero"})
    for basis in (start, over, none):
        found = solve_exactly(BLEND, basis)
        assert isinstance(found, Optimum)
        assert found.objective == 26


def test_a_basis_that_is_singular_is_mended() -> None:
    twice = model(
        "min",
        {"x": 1, "y": 1},
        [var("x"), var("y")],
        [row("r", {"x": 1, "y": 1}, 2), row("s", {"x": 2, "y": 2}, 3)],
    )
    found = solve_exactly(twice, Basis({"x": "basic", "y": "basic"}, {"r": "lower", "s": "lower"}))
    assert isinstance(found, Optimum)
    assert found.objective == 2


def test_no_end_comes_with_a_direction() -> None:
    endless = model("max", {"x": 1}, [var("x"), var("y")], [row("r", {"x": 1, "y": -2}, None, 3)])
    found = solve_exactly(endless)
    assert isinstance(found, Unbounded)
    assert is_unbounded(endless, found)
    assert not is_unbounded(endless, replace(found, direction={"x": Fraction(1), "y": Fraction(0)}))


def test_a_cap_on_pivots_is_undecided_not_an_answer() -> None:
    assert solve_exactly(BLEND, None, pivots=0) is None


@pytest.mark.parametrize(
    "hint",
    [
        None,
        {"r": 0.3, "s": -0.3, "t": -0.1},
        {"r": -1.0, "s": 1.0, "t": 1 / 3},
        {"r": 5.0},
        {"r": float("nan")},
        {"r": float("inf")},
        {},
    ],
)
def test_contradictions_are_proved_whatever_the_hint(hint: dict[str, float] | None) -> None:
    proof = prove_infeasible(CLASH, hint)
    assert proof is not None
    assert adds_up(CLASH, proof)
    assert proof == Farkas(
        (
            Term("row", "r", "lower", Fraction(3)),
            Term("row", "s", "upper", Fraction(3)),
            Term("row", "t", "upper", Fraction(1)),
            Term("bound", "x", "upper", Fraction(3)),
        ),
        Fraction(5, 2),
    )


def test_a_possible_model_is_never_refuted() -> None:
    assert prove_infeasible(BLEND, {"r": 1.0, "s": -1.0}) is None
    assert combine(BLEND, {"r": Fraction(-1)}) is None


def test_an_almost_possible_model_is_refuted_exactly() -> None:
    """Float solvers call this one possible: the limits miss each other by 1e-20."""
    near = model("min", {}, [var("x", 0, 40)], [row("r", {"x": 1}, Fraction(40) + Fraction(1, 10**20))])
    proof = prove_infeasible(near)
    assert proof is not None
    assert adds_up(near, proof)
    assert solve_lp(near).values


def test_an_almost_impossible_model_is_not_refuted() -> None:
    near = model("min", {}, [var("x", 0, 40)], [row("r", {"x": 3}, 120), row("s", {"x": 1}, 40)])
    assert prove_infeasible(near, {"r": 1.0, "s": 1.0}) is None


@pytest.mark.parametrize(
    "broken",
    [
        lambda p: replace(p, gap=p.gap + 1),
        lambda p: replace(p, terms=p.terms[1:]),
        lambda p: replace(p, terms=(replace(p.terms[0], multiplier=-p.terms[0].multiplier), *p.terms[1:])),
        lambda p: replace(p, terms=(replace(p.terms[0], side="upper"), *p.terms[1:])),
        lambda p: replace(p, terms=(replace(p.terms[0], name="nobody"), *p.terms[1:])),
        lambda p: replace(p, terms=()),
    ],
)
def test_a_broken_proof_is_seen(broken: object) -> None:
    proof = prove_infeasible(CLASH)
    assert proof is not None
    assert callable(broken)
    assert not adds_up(CLASH, broken(proof))


def test_crossed_limits_and_empty_rows_are_proofs_by_themselves() -> None:
    for wrong in (
        model("min", {}, [var("x", 2, 1)], []),
        model("min", {}, [var("x")], [row("r", {"x": 1}, 3, 2)]),
        model("min", {}, [], [row("r", {}, 1)]),
        model("min", {}, [], [row("r", {}, None, -1)]),
    ):
        proof = prove_infeasible(wrong)
        assert proof is not None
        assert adds_up(wrong, proof)


PARITY = model(
    "min",
    {},
    [var("x", 0, 9, "I"), var("y", 0, 9, "I"), var("z", -9, 9, "I")],
    [row("odd", {"x": 2, "y": 4, "z": 6}, 7, 7)],
)


@pytest.mark.parametrize("lp_solver", [relax, blind])
def test_whole_numbers_are_refuted_by_cases(lp_solver: object) -> None:
    small = PARITY.with_bounds({"z": (Fraction(0), Fraction(1))})
    assert callable(lp_solver)
    proof = prove_infeasible_by_cases(small, lp_solver)
    assert isinstance(proof, Cases)
    assert len(proof.leaves) > 1
    assert covers(small, proof)


def test_a_gap_in_the_cases_is_seen() -> None:
    small = PARITY.with_bounds({"z": (Fraction(0), Fraction(1))})
    proof = prove_infeasible_by_cases(small, relax)
    assert isinstance(proof, Cases)
    place, split = next((i, n) for i, n in enumerate(proof.nodes) if isinstance(n, Split))
    for wrong in (
        replace(split, above=split.below),
        replace(split, at=split.at + 1),
        replace(split, above=999),
        replace(split, var="nobody"),
    ):
        nodes = (*proof.nodes[:place], wrong, *proof.nodes[place + 1 :])
        assert not covers(small, Cases(nodes))
    continuous = replace(small, vars=tuple(replace(v, kind="C") for v in small.vars))
    assert not covers(continuous, proof)


def test_a_possible_model_gives_an_answer_instead_of_cases() -> None:
    even = replace(PARITY, rows=(row("even", {"x": 2, "y": 4, "z": 6}, 8, 8),))
    found = prove_infeasible_by_cases(even, relax)
    assert isinstance(found, Feasible)
    assert is_answer(even, found)


def test_the_cap_on_leaves_is_undecided() -> None:
    assert prove_infeasible_by_cases(PARITY, relax, max_leaves=2) is None


def test_a_lying_float_solver_changes_nothing() -> None:
    even = replace(PARITY, rows=(row("even", {"x": 2, "y": 4, "z": 6}, 8, 8),))
    found = prove_infeasible_by_cases(even, lambda _: Relaxed(infeasible=True, ray={"even": 1.0}))
    assert isinstance(found, Feasible)
    assert is_answer(even, found)


def test_the_step_of_costs_is_known_when_only_whole_variables_cost() -> None:
    whole = model("min", {"x": "0.6", "y": "1.5"}, [var("x", 0, 9, "I"), var("y", 0, 9, "I")], [])
    assert cost_step(whole) == Fraction(3, 10)
    assert cost_step(whole.relaxed()) is None


def test_the_best_of_whole_numbers_is_proved_and_a_worse_one_is_beaten() -> None:
    small = knapsack(2, 10, 2)
    best = {name: Fraction(round(value)) for name, value in solve_milp(small).values.items()}
    proof = prove_best(small, best, relax)
    assert isinstance(proof, Best)
    assert proof.exact
    worse = prove_best(small, dict.fromkeys(best, Fraction(0)), relax)
    assert isinstance(worse, Feasible)
    assert small.evaluate(worse.values) > 0
