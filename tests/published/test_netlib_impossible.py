"""Impossible models of the Netlib collection, refuted exactly.

Netlib lp/infeas, collected by J. W. Chinneck (1993); J. W. Chinneck, E. W. Dravnieks, "Locating Minimal
Infeasible Constraint Sets in Linear Programs", ORSA Journal on Computing 3 (1991) 157-168. Least
violations of galenet and woodinfe: the feasibility relaxation tests of HiGHS.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.model.mps import read_mps
from optimiser.model.mps_text import write_mps
from optimiser.model.rows import Model, Row, Var
from tests.published.core import DATA, impossible, keeping, load, members, optimum, refuted, smallest, terms

NAMES = ("itest2", "galenet", "bgprtr", "woodinfe", "klein1", "box1", "ex73a", "pang")


@pytest.mark.parametrize("name", NAMES)
def test_the_contradiction_adds_up_and_its_members_suffice(name: str) -> None:
    """Published: infeasible, all of them."""
    model = load(name)
    assert impossible(keeping(model, terms(refuted(model))))


@pytest.mark.parametrize("name", NAMES)
def test_mps_text_keeps_every_digit(name: str) -> None:
    text = (DATA / f"{name}.mps").read_text("utf-8")
    model, _ = read_mps(text)
    assert model is not None
    assert read_mps(write_mps(model, digits=None)) == (model, ())


def test_the_conflict_of_galenet() -> None:
    """Published: the lower sides of NODE5 and D8 with the upper limits of T25 and T35 (and T57 at nought)."""
    model = load("galenet")
    order = members(model)
    published = {
        ("row", "NODE5", "lower"),
        ("row", "D8", "lower"),
        ("bound", "T25", "upper"),
        ("bound", "T35", "upper"),
        ("bound", "T57", "lower"),
    }
    found = smallest(model, [m for m in order if m not in published] + [m for m in order if m in published])
    assert set(found) == published


@pytest.mark.parametrize(("name", "size"), [("itest2", 3), ("woodinfe", 2)])
def test_small_conflicts(name: str, size: int) -> None:
    """The readme says "very small IIS" of woodinfe; 3 and 2 are the smallest sizes known.

    A deletion filter in any order has to end with a conflict that no member can leave.
    """
    model = load(name)
    start = terms(refuted(model))
    found = smallest(model, start)
    assert len(found) == size
    assert all(not impossible(keeping(model, [m for m in found if m != member])) for member in found)


def elastic(model: Model) -> Model:
    """Each row may be broken upwards and downwards at a cost of one a unit."""
    slacks = [Var(f"{sign}{row.name}") for row in model.rows for sign in ("+", "-")]
    rows = tuple(
        Row(
            row.name,
            tuple(sorted([*row.coef, (f"+{row.name}", Fraction(1)), (f"-{row.name}", Fraction(-1))])),
            row.lower,
            row.upper,
        )
        for row in model.rows
    )
    cost = {slack.name: Fraction(1) for slack in slacks}
    return replace(model, vars=(*model.vars, *slacks), rows=rows).with_cost(cost, "min")


@pytest.mark.parametrize(("name", "published"), [("galenet", 28), ("woodinfe", 15)])
def test_the_least_total_violation(name: str, published: int) -> None:
    """Published 28 and 15, exactly."""
    assert optimum(elastic(load(name))) == published
