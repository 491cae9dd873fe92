"""A transport plan with more demand than supply, and several smallest conflicts.

MOSEK documentation, "Debugging infeasible problems", and the MOSEK tutorial on the deletion filter.
"""

from __future__ import annotations

import random

from tests.published.core import load, members, refuted, smallest


def test_conflicts_have_six_and_seven_members() -> None:
    """Published: several conflicts exist and the smallest has size 6."""
    model = load("mosek_transport")
    order = members(model)
    dice = random.Random(1)
    found = {smallest(model, dice.sample(order, len(order))) for _ in range(30)}
    assert sorted(len(conflict) for conflict in found) == [6, 7]


def test_the_sum_says_what_is_missing() -> None:
    """Either way 100 units are missing: 1300 of demand meet 1200 of supply, or 2300 meet 2200."""
    proof = refuted(load("mosek_transport"))
    assert proof.gap == 100
    assert len(proof.terms) in (6, 7)
    assert all(term.multiplier == 1 for term in proof.terms)
