"""What a fit says, foretells and refuses."""

from __future__ import annotations

import random

import pytest

from optimiser.statistics import scheffe
from optimiser.statistics.scheffe import Fit, Model, Refusal

LATTICE = [(1, 0, 0), (0.5, 0.5, 0), (0, 1, 0), (0, 0.5, 0.5), (0, 0, 1), (0.5, 0, 0.5), (0.2, 0.3, 0.5)]
READINGS = [11.0, 15.2, 9.1, 10.4, 16.3, 17.1, 13.9]
PAIRS = Model(("a", "b", "c"))


def done(answer: Fit | Refusal) -> Fit:
    assert isinstance(answer, Fit), answer
    return answer


def test_left_out_errors_are_those_of_fits_without_each_trial() -> None:
    points, readings = LATTICE * 2, [*READINGS, *(value + 0.3 for value in READINGS)]
    fit = done(scheffe.fit(PAIRS, points, readings))
    for out in range(len(points)):
        rest = done(
            scheffe.fit(PAIRS, points[:out] + points[out + 1 :], readings[:out] + readings[out + 1 :])
        )
        error = readings[out] - scheffe.predict(rest, points[out]).value
        assert fit.left_out[out] == pytest.approx(error)
    assert fit.press == pytest.approx(sum((value or 0) ** 2 for value in fit.left_out))


def test_weights_are_as_good_as_repeats() -> None:
    twice = done(scheffe.fit(PAIRS, [*LATTICE, *LATTICE[:2]], [*READINGS, *READINGS[:2]]))
    heavy = done(scheffe.fit(PAIRS, LATTICE, READINGS, weights=[2, 2, 1, 1, 1, 1, 1]))
    assert heavy.coefficients == pytest.approx(twice.coefficients)
    assert heavy.residual_ss == pytest.approx(twice.residual_ss)


def test_grams_and_shares_are_the_same_blend() -> None:
    grams = [tuple(250 * part for part in point) for point in LATTICE]
    one, two = (done(scheffe.fit(PAIRS, points, READINGS)) for points in (LATTICE, grams))
    assert one.coefficients == pytest.approx(two.coefficients)
    assert scheffe.predict(one, (0.1, 0.4, 0.5)).value == pytest.approx(scheffe.predict(two, (1, 4, 5)).value)


def test_a_new_jar_scatters_more_than_the_mean_of_many() -> None:
    told = scheffe.predict(done(scheffe.fit(PAIRS, LATTICE * 2, READINGS * 2)), (0.3, 0.3, 0.4))
    assert told.jar_low is not None
    assert told.low is not None
    assert told.high is not None
    assert told.jar_low < told.low < told.value < told.high


def test_too_few_different_trials_are_refused_with_how_many_it_takes() -> None:
    answer = scheffe.fit(PAIRS, LATTICE[:5] * 3, READINGS[:5] * 3)
    assert isinstance(answer, Refusal)
    assert (answer.reason, answer.different, answer.wanted) == ("too few trials", 5, 6)
    assert answer.together == ((("a", "c"),),)


def test_terms_that_move_together_are_named() -> None:
    """b is always twice c: nothing tells them apart."""
    points = [(1 - 3 * c, 2 * c, c) for c in (0, 0.05, 0.1, 0.2, 0.3)]
    answer = scheffe.fit(Model(("a", "b", "c"), "linear"), points, [1, 2, 3, 4, 5])
    assert isinstance(answer, Refusal)
    assert answer.reason == "terms not told apart"
    assert answer.together == ((("b",), ("c",)),)


def test_readings_all_alike_have_no_part_explained() -> None:
    fit = done(scheffe.fit(PAIRS, LATTICE, [3.0] * 7))
    assert fit.r_squared is None


def test_shares_that_sum_to_nothing_are_refused() -> None:
    answer = scheffe.fit(PAIRS, [(0, 0, 0)] * 8, [1.0] * 8)
    assert isinstance(answer, Refusal)
    assert answer.reason == "shares without a sum"


def test_a_narrow_region_is_fitted_from_its_own_lows() -> None:
    points = [(0.7 + 0.01 * a, 0.2 + 0.01 * b, 0.09 + 0.01 * c) for a, b, c in LATTICE]
    model = Model(("a", "b", "c"), lows=scheffe.lows_of(points, 3))
    fit = done(scheffe.fit(model, points, READINGS))
    plain = done(scheffe.fit(PAIRS, LATTICE, READINGS))
    assert fit.coefficients == pytest.approx(plain.coefficients)


def test_process_variables_multiply_blend_terms() -> None:
    model = Model(("a", "b"), "quadratic", ("rpm", "minutes"), together=2)
    assert model.terms == (
        ("a",),
        ("b",),
        ("a", "b"),
        ("a", "rpm"),
        ("b", "rpm"),
        ("a", "minutes"),
        ("b", "minutes"),
        ("a", "rpm", "minutes"),
        ("b", "rpm", "minutes"),
    )


def test_bands_hold_the_truth_as_often_as_they_say() -> None:
    """400 invented series around a known surface, scatter 0.5: a band of 95 % misses about one in twenty."""
    chance = random.Random(7)
    truth, at = (11.7, 9.4, 16.4, 19.0, 11.4, -9.6), (0.3, 0.3, 0.4)
    surface = [sum(b * t for b, t in zip(truth, scheffe.terms_at(PAIRS, p), strict=True)) for p in LATTICE]
    there = sum(b * t for b, t in zip(truth, scheffe.terms_at(PAIRS, at), strict=True))
    mean, jar = 0, 0
    for _ in range(400):
        fit = done(scheffe.fit(PAIRS, LATTICE * 2, [v + chance.gauss(0, 0.5) for v in surface * 2]))
        told = scheffe.predict(fit, at)
        assert told.low is not None
        assert told.high is not None
        assert told.jar_low is not None
        assert told.jar_high is not None
        mean += told.low <= there <= told.high
        jar += told.jar_low <= there + chance.gauss(0, 0.5) <= told.jar_high
    assert 0.92 <= mean / 400 <= 0.98
    assert 0.92 <= jar / 400 <= 0.98
