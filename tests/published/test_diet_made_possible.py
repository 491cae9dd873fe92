"""A diet that is possible, one that is not, and the one limit that has to give.

R. Fourer, D. M. Gay, B. W. Kernighan, AMPL: A Modeling Language for Mathematical Programming, chapter 2
(diet.dat, diet2.dat, diet2a.dat) and the diet in whole packages of the later chapters.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.model.rows import Model
from tests.published.core import impossible, load, members, optimum, refuted, smallest, solved, terms


def sodium_at_most(limit: Fraction) -> Model:
    model = load("ampl_diet2_infeasible")
    return replace(model, rows=tuple(replace(r, upper=limit) if r.name == "NA" else r for r in model.rows))


def test_the_first_diet() -> None:
    """Published: 88.2, of one food alone, 46.6667 packages."""
    report = solved(load("ampl_diet"))
    assert report.objective == Fraction("88.2")
    assert {name: value for name, value in report.values.items() if value} == {"MCH": Fraction(140, 3)}


def test_the_second_diet_is_impossible_and_sodium_is_part_of_it() -> None:
    """Published: infeasible. The contradiction is summed up exactly, and has the sodium limit in it."""
    model = load("ampl_diet2_infeasible")
    assert ("row", "NA", "upper") in terms(refuted(model))
    found = smallest(model, members(model))
    assert ("row", "NA", "upper") in found
    assert all(not impossible(sodium_at_most(Fraction(limit))) for limit in (48186, 50000))


def test_the_least_sodium_that_will_do() -> None:
    """48186 exactly (the printed repair is 50000): possible there, impossible a millionth below."""
    model = load("ampl_diet2_infeasible")
    sodium = next(row for row in model.rows if row.name == "NA")
    free = replace(model, rows=tuple(row for row in model.rows if row.name != "NA"))
    assert optimum(free.with_cost(sodium.coef)) == 48186
    assert impossible(sodium_at_most(48186 - Fraction(1, 10**6)))
    assert not impossible(sodium_at_most(Fraction(48186)))


def test_the_repaired_diet() -> None:
    """Published: 118.0594032 and the packages below, to six digits."""
    report = solved(load("ampl_diet2a"))
    assert report.objective is not None
    assert round(report.objective, 7) == Fraction("118.0594032")
    published = {
        "BEEF": 5.36061,
        "CHK": 2,
        "FISH": 2,
        "HAM": 10,
        "MCH": 10,
        "MTL": 10,
        "SPG": 9.30605,
        "TUR": 2,
    }
    assert {name: float(value) for name, value in report.values.items()} == pytest.approx(published, abs=5e-6)


def test_whole_packages() -> None:
    """Published: 119.30. Costs come in cents, so the proof leaves nothing better."""
    report = solved(load("ampl_dieti"))
    assert report.objective == Fraction("119.3")
    assert report.step == 0
