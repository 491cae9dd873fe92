"""Best designs for blending models against values in print.

Saturated {q, 2} lattices: H. Scheffé, J. R. Stat. Soc. B 20 (1958); J. Kiefer, J. R. Stat. Soc. B 23 (1961):
det(XᵀX) = (1/4)^(q(q-1)) for one run a point. Eight runs of the model with pairs in three parts, chosen from
the {3, 3} lattice: det(XᵀX)^(1/6)/8 = 0.03623366, mean variance of a term 98.34085, printed by
R. E. Wheeler, Comments on algorithmic design (2004).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from optimiser.statistics import exchange, scheffe
from optimiser.statistics.exchange import Design, Wanted
from optimiser.statistics.lattices import simplex_lattice
from optimiser.statistics.scheffe import Model


def chosen(model: Model, points: list[tuple[float, ...]], runs: int) -> Design:
    answer = exchange.design(model, points, Wanted(runs))
    assert isinstance(answer, Design)
    return answer


@pytest.mark.parametrize("parts", [2, 3, 4, 5])
def test_the_saturated_lattice(parts: int) -> None:
    names = tuple("abcde"[:parts])
    finer = [tuple(float(v) for v in point) for point in simplex_lattice(parts, 4)]
    lattice = {tuple(float(v) for v in point) for point in simplex_lattice(parts, 2)}
    found = chosen(Model(names), finer, len(lattice))
    assert math.exp(found.after.log_det) == pytest.approx(0.25 ** (parts * (parts - 1)), rel=1e-9)
    assert {finer[run.candidate] for run in found.runs} == lattice


def test_eight_runs_from_the_cubic_lattice() -> None:
    points = [tuple(float(v) for v in point) for point in simplex_lattice(3, 3)]
    model = Model(("a", "b", "c"))
    found = chosen(model, points, 8)
    assert math.exp(found.after.log_det / 6) / 8 == pytest.approx(0.03623366, abs=1e-8)
    x = scheffe.matrix(model, [points[run.candidate] for run in found.runs])
    assert np.trace(np.linalg.inv(x.T @ x / 8)) / 6 == pytest.approx(98.34085, abs=5e-5)
