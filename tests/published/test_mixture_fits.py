"""Fits of blending models against figures in print.

Yarn: J. A. Cornell, Experiments with Mixtures (Wiley 1981), the example of NIST/SEMATECH e-Handbook section
5.5.4.2: elongation of yarn from three polymers, coefficients with standard errors 0.60 and 2.61; the sums of
squares 57.629, 70.667, 6.560 and F 39.53, 32.32 as printed for the same data in the GenStat mixture chapter.
Polvorón: J. Lawson, Design and Analysis of Experiments with R (2015), data `polvdat`.
Fish patties: J. A. Cornell, Experiments with Mixtures (2002) pp. 361-365, hardness of patties of mullet,
sheepshead and croaker at two levels of three process variables.
For the last two the coefficients are those of two independent least-squares routes over the printed data.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from optimiser.checks.responses import taught_at
from optimiser.domain.response import Fitted, Reach, Setting
from optimiser.statistics import scheffe
from optimiser.statistics.scheffe import Fit, Model, Refusal

YARN = (
    ((1, 0, 0), (11, 12.4)),
    ((0.5, 0.5, 0), (15, 14.8, 16.1)),
    ((0, 1, 0), (8.8, 10)),
    ((0, 0.5, 0.5), (10, 9.7, 11.8)),
    ((0, 0, 1), (16.8, 16)),
    ((0.5, 0, 0.5), (17.7, 16.4, 16.6)),
)
POLVORON = (
    (0.8, 0.15, 0.05, 5.33),
    (0.4, 0.55, 0.05, 5.87),
    (0.0, 0.95, 0.05, 3.69),
    (0.0, 0.725, 0.275, 3.83),
    (0.0, 0.5, 0.5, 3.85),
    (0.2, 0.3, 0.5, 5.23),
    (0.4, 0.1, 0.5, 5.68),
    (0.6, 0.1, 0.3, 5.88),
    (0.8, 0.1, 0.1, 5.75),
    (0.4, 0.36, 0.24, 6.54),
    (0.4, 0.36, 0.24, 6.82),
    (0.4, 0.36, 0.24, 6.41),
)
THIRD = 0.33333
FISH = (
    ((1, 0, 0), (1.84, 2.86, 3.01, 4.13, 1.65, 2.32, 3.04, 4.13)),
    ((0, 1, 0), (0.67, 1.1, 1.21, 1.67, 0.58, 0.97, 1.16, 1.3)),
    ((0, 0, 1), (1.51, 1.6, 2.32, 2.57, 1.21, 2.12, 2.0, 2.75)),
    ((0.5, 0.5, 0), (1.29, 1.53, 1.93, 2.26, 1.18, 1.45, 1.85, 2.06)),
    ((0.5, 0, 0.5), (1.42, 1.81, 2.57, 3.15, 1.45, 1.93, 2.39, 2.82)),
    ((0, 0.5, 0.5), (1.16, 1.5, 1.83, 2.22, 1.07, 1.28, 1.6, 2.1)),
    ((THIRD, THIRD, THIRD), (1.59, 1.68, 1.94, 2.6, 1.41, 1.54, 2.05, 2.32)),
)
CORNERS = tuple((first, second, third) for third in (-1, 1) for second in (-1, 1) for first in (-1, 1))


def done(answer: Fit | Refusal) -> Fit:
    assert isinstance(answer, Fit), answer
    return answer


def yarn(kind: scheffe.Kind = "quadratic", lows: tuple[float, ...] = ()) -> Fit:
    runs = [(point, reading) for point, readings in YARN for reading in readings]
    model = Model(("polyethylene", "polystyrene", "polypropylene"), kind, lows=lows)
    return done(scheffe.fit(model, [point for point, _ in runs], [reading for _, reading in runs]))


def test_yarn_coefficients_and_standard_errors() -> None:
    fit = yarn()
    assert fit.coefficients == pytest.approx((11.7, 9.4, 16.4, 19.0, 11.4, -9.6), abs=1e-9)
    assert [round(error or 0, 2) for error in fit.errors] == [0.60, 0.60, 0.60, 2.61, 2.61, 2.61]
    assert fit.residual_ss == pytest.approx(6.560, abs=1e-9)
    assert (fit.freedom, round(fit.residual or 0, 2)) == (9, 0.85)


def test_yarn_sums_of_squares() -> None:
    straight, bent = yarn("linear"), yarn()
    assert bent.total_ss == pytest.approx(134.856, abs=5e-4)
    assert straight.total_ss - straight.residual_ss == pytest.approx(57.629, abs=5e-4)
    assert straight.residual_ss - bent.residual_ss == pytest.approx(70.667, abs=5e-4)
    mean = bent.residual_ss / bent.freedom
    assert round(57.6295 / 2 / mean, 2) == 39.53
    assert round((straight.residual_ss - bent.residual_ss) / 3 / mean, 2) == 32.32
    assert bent.r_squared == pytest.approx(1 - 6.560 / 134.856, abs=1e-5)


def test_a_straight_model_of_the_yarn_lacks_fit_and_the_saturated_one_cannot_be_asked() -> None:
    lack = yarn("linear").lack
    assert lack is not None
    assert (lack.pure_freedom, lack.misfit_freedom) == (9, 3)
    assert lack.pure_ss == pytest.approx(6.560)
    assert lack.ratio == pytest.approx(32.32, abs=5e-3)
    assert lack.chance < 0.001
    assert yarn().lack is None


def test_polvoron() -> None:
    model = Model(("first", "second", "third"))
    fit = done(scheffe.fit(model, [row[:3] for row in POLVORON], [row[3] for row in POLVORON]))
    expected = (3.784340282, 3.261565501, -0.148737272, 10.487967562, 15.366173745, 8.980014026)
    assert fit.coefficients == pytest.approx(expected, abs=1e-8)
    assert fit.residual_ss == pytest.approx(0.574913692, abs=1e-8)
    assert fit.lack is not None
    assert (fit.lack.misfit_freedom, fit.lack.pure_freedom) == (4, 2)
    assert fit.lack.pure_ss == pytest.approx(sum((v - 6.59) ** 2 for v in (6.54, 6.82, 6.41)))


def test_fish_patties_at_the_mean_of_the_process() -> None:
    model = Model(("mullet", "sheepshead", "croaker"), "special-cubic")
    fit = done(scheffe.fit(model, [point for point, _ in FISH], [sum(all_) / 8 for _, all_ in FISH]))
    expected = (2.8725, 1.0825, 2.01, -1.135, -0.995, 0.195, 3.18375)
    assert fit.coefficients == pytest.approx(expected, abs=1e-9)
    assert (fit.freedom, fit.residual, fit.covariance) == (0, None, ())
    assert fit.press is None


def test_fish_patties_with_all_process_variables_at_once() -> None:
    """Every blend term times every product of the process: the mean of the process is the blend fit."""
    process = ("oven temperature", "oven time", "frying time")
    model = Model(
        ("mullet", "sheepshead", "croaker"), "special-cubic", process, crossed="special-cubic", together=3
    )
    points = [(*point, *corner) for point, _ in FISH for corner in CORNERS]
    fit = done(scheffe.fit(model, points, [reading for _, all_ in FISH for reading in all_]))
    assert len(fit.terms) == 56
    assert fit.coefficients[:7] == pytest.approx(
        (2.8725, 1.0825, 2.01, -1.135, -0.995, 0.195, 3.18375), abs=1e-9
    )
    mullet = sum(corner[0] * reading for corner, reading in zip(CORNERS, FISH[0][1], strict=True)) / 8
    assert fit.coefficients[fit.terms.index(("mullet", "oven temperature"))] == pytest.approx(mullet)


def test_fish_patties_at_stated_settings_are_as_they_were_read() -> None:
    """56 terms for 56 readings: at the settings of a reading the kept response says that reading."""
    process = ("oven temperature", "oven time", "frying time")
    fish = ("mullet", "sheepshead", "croaker")
    model = Model(fish, "special-cubic", process, crossed="special-cubic", together=3)
    points = [(*point, *corner) for point, _ in FISH for corner in CORNERS]
    fit = done(scheffe.fit(model, points, [reading for _, all_ in FISH for reading in all_]))
    zero, one = Fraction(0), Fraction(1)
    kept = Fitted(
        "hardness", "hardness", "special-cubic", tuple(Reach(name, zero, 100 * one) for name in fish),
        (100 * one, 100 * one), fit.terms, tuple(map(Fraction, fit.coefficients)), ((zero,) * 56,) * 56,
        zero, 1, one, ("patties",), date(2002, 1, 1), (zero,) * 3,
        settings=tuple(Setting(name, "", -one, one) for name in process),
    )  # fmt: skip
    for n, corner in enumerate(CORNERS):
        stated = kept.made_so(dict(zip(process, map(Fraction, corner), strict=True)))
        assert len(stated.terms) == 7
        for point, all_ in FISH:
            told = taught_at(stated, dict(zip(fish, map(Fraction, point), strict=True)))
            assert told is not None
            assert float(told.value) == pytest.approx(all_[n], abs=1e-9)


def test_lows_change_no_prediction_of_a_model_with_pairs() -> None:
    plain, coded = yarn(), yarn(lows=(0.1, 0.2, 0.05))
    for point in ((0.3, 0.3, 0.4), (1, 0, 0), (0.2, 0.7, 0.1)):
        one, two = scheffe.predict(plain, point), scheffe.predict(coded, point)
        assert one.value == pytest.approx(two.value)
        assert one.error == pytest.approx(two.error)
