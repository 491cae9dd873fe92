"""Exchange against every possible choice on small problems; blocks, repeats, trials made before."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from optimiser.statistics import exchange, scheffe
from optimiser.statistics.exchange import Design, Wanted
from optimiser.statistics.lattices import simplex_centroid, simplex_lattice
from optimiser.statistics.scheffe import Model, Refusal

POINTS = [tuple(float(v) for v in point) for point in simplex_lattice(3, 4)]
FEW = [POINTS[i] for i in (0, 2, 4, 5, 8, 11, 14)] + [(0.4, 0.3, 0.3)]
STRAIGHT, PAIRS = Model(("a", "b", "c"), "linear"), Model(("a", "b", "c"))


def done(answer: Design | Refusal) -> Design:
    assert isinstance(answer, Design), answer
    return answer


def best_of_all(model: Model, runs: int) -> tuple[float, float]:
    """The greatest ln det and the least mean variance over every choice with repetition."""
    x = scheffe.matrix(model, FEW)
    moments = x.T @ x / len(x)
    dets, means = [], []
    for some in itertools.combinations_with_replacement(range(len(FEW)), runs):
        square = x[list(some)].T @ x[list(some)]
        if np.linalg.matrix_rank(square) == len(square):
            dets.append(float(np.linalg.slogdet(square)[1]))
            means.append(float(np.trace(np.linalg.inv(square) @ moments)))
    return max(dets), min(means)


@pytest.mark.parametrize(("model", "runs"), [(STRAIGHT, 4), (STRAIGHT, 5), (PAIRS, 6), (PAIRS, 7)])
def test_never_better_than_the_best_of_all_and_equal_from_most_seeds(model: Model, runs: int) -> None:
    det, mean = best_of_all(model, runs)
    reached = {"D": 0, "I": 0}
    for seed in range(6):
        one = done(exchange.design(model, FEW, Wanted(runs, "D", seed=seed))).after.log_det
        two = done(exchange.design(model, FEW, Wanted(runs, "I", seed=seed))).after.mean_variance
        assert one <= det + 1e-9
        assert two >= mean - 1e-9
        reached["D"] += one > det - 1e-6
        reached["I"] += two < mean + 1e-6
    assert min(reached.values()) >= 4


def test_no_exchange_of_a_single_run_betters_a_design() -> None:
    found = done(exchange.design(PAIRS, POINTS, Wanted(8)))
    chosen = [run.candidate for run in found.runs]
    x = scheffe.matrix(PAIRS, POINTS)
    for place, other in itertools.product(range(8), range(len(POINTS))):
        rows = x[[*chosen[:place], other, *chosen[place + 1 :]]]
        assert np.linalg.slogdet(rows.T @ rows)[1] <= found.after.log_det + 1e-6


def test_the_same_seed_gives_the_same_design_and_another_order_for_another() -> None:
    first, again, other = (exchange.design(PAIRS, POINTS, Wanted(9, seed=seed)) for seed in (3, 3, 4))
    assert first == again
    assert done(first).runs != done(other).runs


def test_repeats_are_runs_that_stand_there_already() -> None:
    found = done(exchange.design(PAIRS, POINTS, Wanted(9, repeats=3)))
    assert len({run.candidate for run in found.runs}) <= 6
    assert sum(run.repeats for run in found.runs) >= 3


def test_blocks_are_equal_in_size_and_told_apart() -> None:
    found = done(exchange.design(PAIRS, POINTS, Wanted(10, blocks=2)))
    assert [run.block for run in found.runs] == [1] * 5 + [2] * 5
    assert found.after.terms == 7
    blocks = [str(run.block) for run in found.runs]
    fit = scheffe.fit(
        PAIRS,
        [POINTS[run.candidate] for run in found.runs],
        [5 + 2 * POINTS[run.candidate][0] + (run.block == 2) for run in found.runs],
        blocks=blocks,
    )
    assert isinstance(fit, scheffe.Fit)
    assert fit.coefficients[:3] == pytest.approx((7.5, 5.5, 5.5))
    assert fit.coefficients[-1] == pytest.approx(0.5)


def test_trials_made_before_count() -> None:
    lattice = [tuple(float(v) for v in point) for point in simplex_lattice(3, 2)]
    found = done(exchange.design(PAIRS, POINTS, Wanted(2), made=lattice[:4]))
    assert {POINTS[run.candidate] for run in found.runs} == set(lattice[4:])
    assert found.before is None
    later = done(exchange.design(PAIRS, POINTS, Wanted(2), made=lattice))
    assert later.before is not None
    assert math.exp(later.before.log_det) == pytest.approx(0.25**6)
    assert later.after.log_det > later.before.log_det


def test_new_trials_stand_apart_from_the_days_before() -> None:
    """Eight trials of two days before, the second half a point up; the new ones on a day one point down."""
    lattice = [tuple(float(v) for v in point) for point in simplex_lattice(3, 2)]
    made, days = [*lattice, *lattice[:2]], ["a"] * 4 + ["b"] * 4
    found = done(exchange.design(PAIRS, POINTS, Wanted(3), made=made, days=days))
    assert found.after.terms == 6 + 2
    new = [POINTS[run.candidate] for run in found.runs]
    told = exchange.tells(PAIRS, [*made, *new], POINTS, [*days, *("new" for _ in new)])
    assert told is not None
    assert told.mean_variance == pytest.approx(found.after.mean_variance)
    off = {"a": 0.0, "b": 0.5, "new": -1.0}
    on = [*days, *("new" for _ in new)]
    readings = [5 + 2 * p[0] + off[day] for p, day in zip([*made, *new], on, strict=True)]
    fit = scheffe.fit(PAIRS, [*made, *new], readings, blocks=on)
    assert isinstance(fit, scheffe.Fit)
    middle = sum(off.values()) / 3
    assert fit.coefficients[:3] == pytest.approx((7 + middle, 5 + middle, 5 + middle))
    assert fit.coefficients[-1] == pytest.approx(-1 - middle)


def test_days_before_cost_what_they_take_to_be_told() -> None:
    lattice = [tuple(float(v) for v in point) for point in simplex_lattice(3, 2)]
    one, apart = (
        done(exchange.design(PAIRS, POINTS, Wanted(4), made=lattice * 2, days=days))
        for days in (None, ["a"] * 5 + ["b"] * 7)
    )
    assert one.before is not None
    assert apart.before is not None
    assert apart.before.mean_variance > one.before.mean_variance
    assert apart.after.mean_variance > one.after.mean_variance
    alone = exchange.design(PAIRS, POINTS, Wanted(1), made=lattice, days=list("abcdef"))
    assert isinstance(alone, Refusal)
    assert alone.reason == "too few trials"


def test_too_few_runs_and_candidates_that_tie_terms_are_refused() -> None:
    few = exchange.design(PAIRS, POINTS, Wanted(6, repeats=1))
    assert few == Refusal("too few trials", (), 6, 0, 7)
    edge = [(0.5, 0.5 - x, x) for x in (0.0, 0.25, 0.5)]
    tied = exchange.design(PAIRS, edge, Wanted(8))
    assert isinstance(tied, Refusal)
    assert tied.reason == "terms not told apart"


def test_lattices() -> None:
    assert len(simplex_lattice(4, 3)) == math.comb(6, 3)
    assert len(simplex_centroid(4)) == 15
    assert all(sum(point) == 1 for point in (*simplex_lattice(4, 3), *simplex_centroid(4)))
    with pytest.raises(ValueError, match="at least one"):
        simplex_lattice(0, 2)
