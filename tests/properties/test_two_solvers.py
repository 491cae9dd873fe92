"""Sixty of the random requests that the release job asks two solvers by the thousand."""

from __future__ import annotations

import pytest

from tests.benchmarks.requests import OF_DEMO
from tests.benchmarks.two_solvers import told

OF_SMALL = [seed for seed in range(9_000, 9_080) if seed % OF_DEMO][:56]
OF_THE_DEMO = [9_000, 9_012, 9_016, 9_020]
PROOF = "impossible without a proof in fractions"
"""Two solvers say so and the proof would need more cases than are tried: no disagreement."""


@pytest.mark.parametrize("first", range(0, len(OF_SMALL), 8))
def test_two_solvers_and_the_judge_agree_on_small_requests(first: int) -> None:
    for seed in OF_SMALL[first : first + 8]:
        found = told(seed)
        assert not found.faults, found
        assert found.end != "undecided", found


@pytest.mark.parametrize("seed", OF_THE_DEMO)
def test_two_solvers_and_the_judge_agree_on_the_demo(seed: int) -> None:
    found = told(seed)
    assert not set(found.faults) - {PROOF}, found
    assert found.end != "undecided", found
