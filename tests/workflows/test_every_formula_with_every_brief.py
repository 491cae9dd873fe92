"""Every formula of the demo with every brief ends in a sound proposal or in a proved impossible."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.domain.outcome import Impossible, Outcome, Proposals, Undecided
from optimiser.errors import UsageError
from optimiser.explain.giving import NEVER
from optimiser.search.propose import search
from optimiser.search.stages import bent
from optimiser.solver.interface import Limits
from tests.effort import THOROUGH
from tests.workflows.desk import asked, demo, is_sound

FORMULAS = sorted(demo().worktable.formulas)
BRIEFS = sorted(demo().worktable.briefs)
CLASHES_BY_DESIGN = {"impossible-clay"}
NOTHING_WOULD_FILL = {("coffee-sugar-scrub", "sensitive-skin")}
"""The sugar that scrubs is what makes up 100 %: said before anything is solved."""
PAIRS = [(formula, brief) for formula in FORMULAS for brief in BRIEFS]
ASKED_OF_ALL = {"cheapest", "nut-free", "from-the-shelf"}
"""What these briefs come to is looked at formula by formula elsewhere, so it is found already."""


def is_quick(formula: str, brief: str) -> bool:
    at = FORMULAS.index(formula)
    if brief in CLASHES_BY_DESIGN:
        return at % 2 == 0
    return brief in ASKED_OF_ALL or (at + BRIEFS.index(brief)) % 5 == 0


SLANTED = [pair for pair in PAIRS if is_quick(*pair)]
"""A third of the pairs: every formula meets three briefs of all and a fifth of the others."""


def test_the_quick_pairs_leave_no_formula_and_no_brief_out() -> None:
    assert {formula for formula, _ in SLANTED} == set(FORMULAS)
    assert {brief for _, brief in SLANTED} == set(BRIEFS)


@pytest.mark.parametrize(("formula", "brief"), PAIRS if THOROUGH else sorted({*SLANTED, *NOTHING_WOULD_FILL}))
def test_each_pair_is_settled(formula: str, brief: str) -> None:
    if (formula, brief) in NOTHING_WOULD_FILL:
        with pytest.raises(UsageError, match="makes up this formula to 100 %, so it cannot be left out"):
            asked(demo(), formula, brief)
        return
    outcome = asked(demo(), formula, brief)
    assert not isinstance(outcome, Undecided), outcome.why
    if brief in CLASHES_BY_DESIGN:
        assert isinstance(outcome, Impossible)
    is_settled(outcome)


def is_settled(outcome: Outcome) -> None:
    if isinstance(outcome, Proposals):
        proposal = outcome.proposals[0]
        is_sound(proposal, outcome.request)
        assert proposal.optimal or any(bent(rule) for rule in outcome.request.rules)
        return
    assert isinstance(outcome, Impossible)
    (conflict,) = outcome.conflicts
    assert conflict.minimal
    assert conflict.certified or {"HiGHS", "CBC"} <= set(outcome.agreed)
    assert len(outcome.agreed) >= 2
    assert {w.rule for w in conflict.witnesses} == {r.head.id for r in conflict.rules}
    assert not {r.head.basis for r in conflict.rules} & {"physics", "wish"}
    cure = outcome.concessions[0]
    assert cure.proposal is not None
    assert cure.rule in conflict.rules
    assert cure.rule.head.basis not in ("law", "safety", "physics")
    others = tuple(rule for rule in outcome.request.rules if rule.head.id != cure.rule.head.id)
    if cure.enough == "together":
        others = tuple(rule for rule in others if rule.head.basis in NEVER)
    is_sound(cure.proposal, replace(outcome.request, rules=others))


@pytest.mark.parametrize(
    ("formula", "brief"),
    [
        ("oat-rose-mask", "impossible-clay"),
        ("cooling-leg-gel", "no-gum-no-strong-clay"),
        ("almond-body-lotion", "more-clay"),
    ],
)
def test_a_conflict_clashes_by_itself_and_without_any_member_it_does_not(formula: str, brief: str) -> None:
    outcome = asked(demo(), formula, brief)
    assert isinstance(outcome, Impossible)
    members = outcome.conflicts[0].rules
    limits = Limits(seconds=20)
    alone = search(replace(outcome.request, rules=members), limits=limits)
    assert alone.infeasible
    for left in members:
        rest = replace(outcome.request, rules=tuple(rule for rule in members if rule is not left))
        found = search(rest, limits=limits)
        assert found.proposals, left.head.sentence
        is_sound(found.proposals[0], rest)
