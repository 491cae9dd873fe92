"""Conflicts and cures of random small models against every subset there is, and against each other."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from optimiser.explain.deciding import Caps
from optimiser.explain.hitting import are_dual, meet_minimally, smallest_new
from optimiser.explain.sides import Member, members, moved, without
from optimiser.model.rows import Model
from optimiser.workflows.explain_model import ModelExplanation, explain_model
from tests.effort import tries
from tests.explained import by_brute_force, check, conflicts, cures, is_impossible
from tests.properties.strategies import models

calm = tries(200)
calmer = tries(130)
MANY = 10**6
MOST_MEMBERS = 9


def limits_stay(_model: Model, member: Member) -> bool:
    return member.what == "bound"


def explained(model: Model, boxed: bool) -> ModelExplanation:
    if boxed:
        return explain_model(model, most=MANY, never=limits_stay)
    return explain_model(model, most=MANY)


def equal_brute_force(model: Model, boxed: bool) -> None:
    chosen = members(model, limits_stay) if boxed else members(model)
    if len(chosen) > MOST_MEMBERS:
        return
    found = explained(model, boxed)
    refuted, healed = by_brute_force(model, chosen)
    if found.verdict == "possible":
        assert refuted == set()
        assert healed == {frozenset()}
        assert not model.violations(found.answer)
        return
    assert found.verdict == "impossible"
    assert found.complete
    assert (conflicts(found), cures(found)) == (refuted, healed)
    check(found)


@calmer
@given(models(most=3))
def test_lists_of_continuous_models_equal_brute_force(model: Model) -> None:
    equal_brute_force(model, boxed=False)


@calmer
@given(models(kinds="CII", boxed=True, most=4))
def test_lists_of_whole_number_models_equal_brute_force(model: Model) -> None:
    """Limits of variables stay: without them a whole-number model may have no end to its cases."""
    equal_brute_force(model, boxed=True)


@calm
@given(models(kinds="CI", boxed=True, most=5))
def test_conflicts_and_cures_meet_each_other_minimally(model: Model) -> None:
    found = explained(model, boxed=True)
    if found.verdict != "impossible" or not found.complete:
        return
    place: dict[str, int] = {}

    def bits(these: frozenset[str]) -> int:
        return sum(1 << place.setdefault(name, len(place)) for name in sorted(these))

    one, other = ([bits(these) for these in family] for family in (conflicts(found), cures(found)))
    assert meet_minimally(one, other)
    assert meet_minimally(other, one)
    assert smallest_new(one, other, 0) is None
    assert smallest_new(other, one, 0) is None


@calm
@given(models(kinds="CCI", boxed=True, most=4))
def test_a_new_limit_is_enough_and_nothing_nearer_is(model: Model) -> None:
    found = explained(model, boxed=True)
    for repair in found.repairs:
        if repair.verdict == "never":
            assert is_impossible(without(model, [repair.member]))
        elif repair.to is not None:
            assert not is_impossible(moved(model, repair.member, repair.to))
            nearer = (repair.step or abs(repair.to - repair.limit) / 1000) * (
                1 if repair.member.side == "lower" else -1
            )
            assert is_impossible(moved(model, repair.member, repair.to + nearer))


@calm
@given(models(kinds="CCI", boxed=True, most=4))
def test_the_mix_makes_it_possible_and_costs_no_more_than_one_limit_alone(model: Model) -> None:
    found = explained(model, boxed=True)
    if found.mix is None:
        return
    mended = model
    for move in found.mix.moves:
        mended = moved(mended, move.member, move.to)
    assert not is_impossible(mended)
    assert found.mix.total == sum((move.share for move in found.mix.moves), start=Fraction(0)) > 0
    for repair in found.repairs:
        if repair.to is not None and repair.limit:
            assert found.mix.total < abs(repair.to / repair.limit - 1) + max(
                found.mix.step, Fraction(1, 10**9)
            )


@calm
@given(models(most=4), st.integers(0, 6))
def test_the_same_model_gives_the_same_explanation(model: Model, checks: int) -> None:
    """Also when it stops early; what a short search lists is part of what a full one lists."""
    full, again = explain_model(model, most=MANY), explain_model(model, most=MANY)
    assert full == again
    early = explain_model(model, most=MANY, caps=Caps(checks=checks))
    assert conflicts(early) <= conflicts(full) or not all(clash.minimal for clash in early.clashes)
    assert cures(early) <= cures(full)
    if early.verdict == "impossible" and early.complete:
        assert (conflicts(early), cures(early)) == (conflicts(full), cures(full))


@calm
@given(st.lists(st.integers(1, 255), max_size=6))
def test_the_search_for_meeting_sets_ends_with_the_dual_family(sets: list[int]) -> None:
    family = [item for item in sets if not any(other != item and not other & ~item for other in sets)]
    family = list(dict.fromkeys(family))
    found: list[int] = []
    while (new := smallest_new(family, found, 0)) is not None:
        assert not found or new.bit_count() >= found[-1].bit_count()
        found.append(new)
    brute = [pick for pick in range(256) if all(pick & item for item in family)]
    least = {pick for pick in brute if not any(other != pick and not other & ~pick for other in brute)}
    assert set(found) == least
    if family:
        assert are_dual(family, found)
        assert not are_dual(family, found[:-1])
        assert not are_dual([*family[:-1]], found)


@calm
@given(models(kinds="CI", boxed=True, most=3))
def test_yes_or_no_variables_keep_their_nought_and_one(model: Model) -> None:
    """The same limits on a yes-or-no variable are no members, and on a whole one they are."""
    box = (Fraction(0), Fraction(1))
    whole = model.with_bounds(dict.fromkeys(model.whole, box))
    yes_no = replace(whole, vars=tuple(replace(v, kind="B") if v.kind == "I" else v for v in whole.vars))
    held = set(model.whole)
    assert [m for m in members(whole) if not (m.what == "bound" and m.name in held)] == list(members(yes_no))
