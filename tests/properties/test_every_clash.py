"""Every clash and way out of random small requests against every subset of their sides."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.certify.proof import Cases
from optimiser.certify.verify import covers
from optimiser.domain.lists import RuleSide
from optimiser.domain.rules import Cost, Head, LineCount, Mean, Newcomers, Rule, Share, UseRange
from optimiser.domain.selector import Pick
from optimiser.explain.every import Caps, every_clash
from optimiser.explain.every_proof import cut_down
from optimiser.explain.every_sides import Sides, never_given_up, sides_in
from optimiser.explain.rest import Rest
from optimiser.model.rows import Model, Row
from optimiser.solver.interface import Limits
from tests.explained import is_impossible
from tests.properties.strategies import models
from tests.small import head, request

MOST_SIDES = 7
calm = settings(max_examples=25, deadline=None)
calmer = settings(max_examples=5, deadline=None)


def by_subsets(sides: Sides) -> tuple[set[int], set[int]]:
    """Minimal impossible sets, and minimal sets without which the rest is possible."""
    everything = range(sides.everything + 1)
    fails = {bits for bits in everything if is_impossible(sides.part(bits))}
    clashes = {b for b in fails if not any(o != b and not o & ~b for o in fails)}
    heals = {b for b in everything if sides.everything & ~b not in fails}
    return clashes, {b for b in heals if not any(o != b and not o & ~b for o in heals)}


def equal_brute_force(sides: Sides) -> None:
    found = every_clash(sides)
    clashes, ways = by_subsets(sides)
    assert (set(found.clashes), set(found.ways)) == (clashes, ways)
    assert found.complete
    for bits, proof in found.clashes.items():
        assert isinstance(proof, Cases)
        small, short = cut_down(sides.part(bits), proof)
        assert covers(small, short)
        assert {row.name for row in small.rows} <= {row.name for row in sides.part(bits).rows}


def of_rows(model: Model) -> Sides:
    """Each limit of a row a side of its own, but for the first row, which always stays."""
    rows, sides, names = list(model.rows[:1]), [], []
    for row in model.rows[1:]:
        for which, low, high in (("least", row.lower, None), ("most", None, row.upper)):
            if low is not None or high is not None:
                name = f"{row.name}:{which}"
                rows.append(Row(name, row.coef, low, high, row.name))
                rule = Newcomers(Head(row.name, name), 0)
                sides.append(RuleSide(rule, "low" if low is not None else "high", name))
                names.append(frozenset({name}))
    return Sides(Model("random", model.vars, tuple(rows)), tuple(sides), tuple(names))


@calm
@given(models(kinds="CI", boxed=True, most=4))
def test_the_lists_of_random_rows_equal_brute_force(model: Model) -> None:
    equal_brute_force(of_rows(model))


def percents(least: int, most: int) -> st.SearchStrategy[Fraction]:
    return st.integers(least, most).map(Fraction)


@st.composite
def rules(draw: st.DrawFn) -> tuple[Rule, ...]:
    found: list[Rule] = []
    for group, top in (("clay", 60), ("polyol", 25), ("gum", 2)):
        low = draw(percents(0, top))
        found.append(Share(head(group), Pick("group", group), low, low + draw(percents(0, 5))))
    found.append(Mean(head("solids"), "solids", None, draw(percents(10, 40))))
    found.append(Cost(head("cost"), draw(percents(1, 5))))
    if draw(st.booleans()):
        found.append(LineCount(head("lines"), draw(st.integers(3, 7))))
    return tuple(found)


def stays(rule: Rule) -> bool:
    return never_given_up(rule) or isinstance(rule, UseRange)


@calmer
@given(rules())
def test_the_lists_of_random_requests_equal_brute_force(asked: tuple[Rule, ...]) -> None:
    rest = Rest(request(*asked), Limits())
    sides = sides_in(rest.request, rest.model, stays)
    if len(sides.sides) <= MOST_SIDES:
        equal_brute_force(sides)


@calm
@given(models(kinds="CI", boxed=True, most=4), st.integers(1, 6))
def test_what_is_cut_short_is_never_called_complete(model: Model, checks: int) -> None:
    sides = of_rows(model)
    found = every_clash(sides, Caps(checks=checks))
    clashes, ways = by_subsets(sides)
    if found.complete:
        assert (set(found.clashes), set(found.ways)) == (clashes, ways)
    assert set(found.ways) <= ways
