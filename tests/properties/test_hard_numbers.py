"""Numbers that are hard on a solver: no wrong proposal passes, "impossible" is never wrong.

A slice of the long run (`tests/benchmarks/two_solvers.py --of invented`), requests that once went wrong in
it, and contradictions by the last of many digits, against a search through all cases in exact fractions.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import asdict, replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.certify.proof import Farkas, Optimum
from optimiser.certify.simplex import solve_exactly
from optimiser.checks.judge import broken, judge
from optimiser.domain.outcome import Impossible
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Amount, Rule, Share
from optimiser.domain.selector import Pick
from optimiser.explain.impossible import explain_impossible
from optimiser.lp.build import build
from optimiser.model.rows import Model
from optimiser.search.propose import search, silent
from optimiser.solver.interface import Limits
from tests.benchmarks.invented import HARD, hard_of, kinds
from tests.benchmarks.two_solvers import Told, kept_in, summed_up, told_of_invented
from tests.effort import THOROUGH, tries
from tests.points import clays, only
from tests.small import fr, head, request

F = Fraction
SLICE = range(20_000, 20_018)


@pytest.mark.parametrize("first", SLICE[::3])
def test_a_slice_of_the_long_run(first: int) -> None:
    for seed in range(first, first + 3):
        found = told_of_invented(seed)
        assert found.end in ("proposal", "impossible", "undecided")
        assert not found.faults, found


def test_the_slice_has_every_hardness_and_many_kinds() -> None:
    assert {hard_of(seed) for seed in SLICE} == set(HARD)
    assert {"Share", "Thickness", "Response", "Stock", "Needs"} <= set(kinds())


WENT_WRONG = [(1, "proposal"), (13, "proposal"), (148, "impossible"), (227, "undecided")]
SLOWER = [(144, "impossible"), (395, "proposal"), (844, "impossible"), (5257, "proposal")]


@pytest.mark.parametrize(("seed", "end"), WENT_WRONG + SLOWER * THOROUGH)
def test_requests_that_once_went_wrong(seed: int, end: str) -> None:
    """A trace that stopped a sum, CBC's worse bests, its crash, a hair found late, a wish of 10^-12."""
    found = told_of_invented(seed)
    assert (found.end, found.faults) == (end, ())


def exactly_possible(model: Model) -> bool:
    """Whether the model has an answer: every case of its whole numbers by the exact simplex alone."""
    return next(_answers(model.with_cost({})), None) is not None


def _answers(model: Model) -> Iterator[Optimum]:
    found = solve_exactly(model)
    if isinstance(found, Farkas):
        return
    assert isinstance(found, Optimum)
    part = next((name for name in sorted(model.whole) if found.values[name].denominator != 1), None)
    if part is None:
        yield found
        return
    below = math.floor(found.values[part])
    yield from _answers(model.tightened(part, upper=F(below)))
    yield from _answers(model.tightened(part, lower=F(below + 1)))


SIZES = st.integers(3, 15)
SHARES = st.integers(1000, 12_000).map(lambda steps: F(steps, 1000))


def three_clays(kaolin: Fraction, bentonite: Fraction, most: Fraction, *more: Rule) -> Request:
    """Water and three clays; two of them have a floor, all three together a ceiling."""
    asked = only(
        request(formula=clays(kaolin="4", bentonite="2")), ["kaolin", "bentonite", "illite", "water"]
    )
    own = (
        Amount(head("kaolin"), "kaolin", kaolin, None),
        Amount(head("bentonite"), "bentonite", bentonite, None),
        Share(head("together"), Pick("group", "clay"), None, most),
        *more,
    )
    return replace(asked, rules=tuple(sorted(own, key=lambda rule: rule.head.id)))


@tries(30)
@given(SHARES, SHARES, SIZES, st.booleans())
def test_a_hair_too_much_is_proved_impossible(
    one: Fraction, other: Fraction, digit: int, wished: bool
) -> None:
    more = [Share(head("wish", rank=1), Pick("ingredient", "illite"), fr(1))] if wished else []
    asked = three_clays(one, other, one + other - F(1, 10**digit), *more)
    found = search(asked, limits=Limits())
    assert not found.proposals
    told = explain_impossible(asked, (), Limits(), off_grid=found.off_grid, tell=silent)
    assert isinstance(told, Impossible)
    assert told.conflicts[0].certified
    assert {rule.head.id for rule in told.conflicts[0].rules} == {
        "test#bentonite",
        "test#kaolin",
        "test#together",
    }


@tries(30)
@given(SHARES, SHARES, SIZES, st.sampled_from([0, 1]))
def test_a_hair_of_room_is_enough_and_none_is_too(
    one: Fraction, other: Fraction, digit: int, room: int
) -> None:
    asked = three_clays(one, other, one + other + room * F(1, 10**digit))
    (proposal,) = search(asked, limits=Limits()).proposals
    shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
    assert not broken(judge(asked, shares))


@tries(30)
@given(SHARES, SHARES, SIZES, st.sampled_from([-1, 0, 1]), st.integers(1, 9))
def test_between_the_steps_is_never_called_impossible(
    one: Fraction, other: Fraction, digit: int, side: int, part: int
) -> None:
    """Limits that lie between two steps, or a hair beside one: fractions always have the last word."""
    off = F(part, 10**4)
    asked = three_clays(one + off, other + off, one + other + 2 * off + side * F(1, 10**digit))
    found = search(asked, limits=Limits())
    possible = exactly_possible(build(asked))
    assert possible is (side >= 0)
    if found.proposals:
        shares = {Slot(line.ingredient, line.phase): line.percent for line in found.proposals[0].lines}
        assert not broken(judge(asked, shares))
        assert possible
    else:
        told = explain_impossible(asked, (), Limits(), off_grid=found.off_grid, tell=silent)
        assert isinstance(told, Impossible) is not possible


def test_a_run_that_was_cut_short_goes_on(tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    assert list(kept_in(kept)) == []
    whole = Told(7, "proposal", notes=("a note",), kinds=("Share",), ingredients=4)
    line = json.dumps(asdict(whole))
    kept.write_text(f"{line}\n{line[:40]}", encoding="utf-8")
    assert list(kept_in(kept)) == [whole]
    assert summed_up([whole])["ends"] == {"proposal": 1}
