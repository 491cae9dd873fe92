"""Three rows without an answer, one of them a window.

SAS/OR User's Guide: Mathematical Programming, The OPTLP Procedure, example "Finding an Irreducible
Infeasible Set".
"""

from __future__ import annotations

from fractions import Fraction

from optimiser.certify.proof import Term
from tests.published.core import load, members, optimum, refuted, smallest

CONFLICT = {
    ("row", "con1", "lower"),
    ("row", "con2", "upper"),
    ("row", "con3", "upper"),
    ("bound", "x3", "lower"),
}


def test_the_only_conflict_names_sides() -> None:
    """Published (its list recalled from memory): con1 lower, con2 upper, con3 upper, lower limit of x3.

    It is the only one: any order of deletion ends there.
    """
    model = load("sas_iis")
    order = members(model)
    for turn in range(len(order)):
        assert set(smallest(model, order[turn:] + order[:turn])) == CONFLICT


def test_the_sum_can_be_checked_by_hand() -> None:
    """con1 - con2 - con3 + 2 x3 reads 0 >= 10 - 4 - 5 + 0 = 1."""
    proof = refuted(load("sas_iis"))
    assert proof.gap == 1
    assert {(t.what, t.name, t.side) for t in proof.terms} == CONFLICT
    assert Term("bound", "x3", "lower", Fraction(2)) in proof.terms


def test_relaxing_the_upper_side_of_the_window_repairs_it() -> None:
    """Published: the example relaxes that side and the model becomes feasible; cost 10 by hand."""
    assert optimum(load("sas_iis_repaired")) == 10
