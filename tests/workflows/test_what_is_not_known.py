"""Unknown never passes, assumed never proves, refused is refused, wishes come after musts."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.domain.outcome import Impossible, Proposals, Undecided
from optimiser.errors import RefusedError
from tests.workflows.desk import (
    FLAGSHIP,
    F,
    asked,
    changed,
    closed,
    copied,
    demo,
    line_of,
    proposed,
    put,
    shares,
    table_in,
    third_of,
)

THREE_TIMES_AS_THICK = """\
name: Three times as thick, by xanthan alone
targets:
  - level: thickening
    at_least: 2.5 %
    name: Thick
  - newcomers: {at_most: 0}
    name: Nothing new
"""


def thick(folder: Path, row: str) -> object:
    put(folder, "briefs/thick.yaml", THREE_TIMES_AS_THICK)
    old = line_of((folder / "properties.csv").read_text(encoding="utf-8"), "xanthan,thickening,")
    changed(folder, "properties.csv", lambda text: text.replace(old, row))
    return asked(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "thick")


def test_an_assumed_number_never_proves_anything_impossible(tmp_path: Path) -> None:
    outcome = thick(copied(tmp_path), "xanthan,thickening,1,0.5,9,g/g,assumed")
    assert isinstance(outcome, Undecided)
    assert "assumed" in outcome.why
    assert "xanthan" in {remark.about for remark in outcome.rests_on}
    text = next(r.text for r in outcome.rests_on if r.about == "xanthan")
    assert "0.5 to 9 g/g" in text


def test_the_same_number_from_a_paper_does(tmp_path: Path) -> None:
    outcome = thick(copied(tmp_path), "xanthan,thickening,1,0.5,9,g/g,measured here")
    assert isinstance(outcome, Impossible)
    assert "briefs/thick#Thick" in {rule.head.id for rule in outcome.conflicts[0].rules}


def test_what_is_impossible_at_every_value_of_the_assumed_number_is_said_to_be(tmp_path: Path) -> None:
    outcome = thick(copied(tmp_path), "xanthan,thickening,1,0.5,1.1,g/g,assumed")
    assert isinstance(outcome, Impossible)


def test_a_line_of_unknown_make_up_never_passes_a_substance_left_out(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    rows = (folder / "composition.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    put(folder, "composition.csv", "".join(r for r in rows if not r.startswith("rose-hydrosol,")))
    known, _ = proposed(demo(), "rose-serum", leave_out=("substance:Coumarin",))
    unknown = asked(table_in(folder), "rose-serum", leave_out=("substance:Coumarin",))
    assert table_in(folder).worktable.ingredients["rose-hydrosol"].composition is None
    assert "rose-hydrosol" in shares(known)
    assert isinstance(unknown, Proposals | Impossible)
    for proposal in unknown.proposals if isinstance(unknown, Proposals) else ():
        assert "rose-hydrosol" not in shares(proposal)


def test_what_is_bought_without_a_make_up_is_set_aside() -> None:
    request = closed(demo(), FLAGSHIP)
    aside = {item.ingredient: item for item in request.set_aside}
    assert demo().worktable.ingredients["orange-flower-hydrosol"].composition is None
    assert "make-up is not known" in aside["orange-flower-hydrosol"].reason
    assert aside["orange-flower-hydrosol"].name == "Orange flower hydrosol"
    assert "orange-flower-hydrosol" not in {slot.ingredient for slot in request.slots}


def test_a_newcomer_nobody_knows_how_to_add_is_set_aside(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    first, request = proposed(demo(), FLAGSHIP, "another-thickener")
    (came,) = set(shares(first)) - request.formula.ingredients
    kind = request.ingredients[came].kind
    rows = (folder / "process.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    starts = (f"{came},", f"kind:{kind},", f"group:{request.ingredients[came].group},")
    put(folder, "process.csv", "".join(row for row in rows if not row.startswith(starts)))
    second, request = proposed(table_in(folder), FLAGSHIP, "another-thickener")
    assert came not in shares(second)
    reasons = {item.ingredient: item.reason for item in request.set_aside}
    assert reasons[came] == "no way of adding it is known"


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ("area: eyes", "eye area"),
        ("area: lips", "lips or mouth"),
        ("age: under 3", "under 3"),
        ("age: from 1", "under 3"),
        ("area: broken skin", "broken or irritated skin"),
    ],
)
def test_products_that_are_not_served(tmp_path: Path, facts: str, said: str) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/other.yaml", f"name: Other\nproduct: {{{facts}}}\n")
    with pytest.raises(RefusedError, match=said) as refused:
        asked(table_in(folder), FLAGSHIP, "other")
    assert refused.value.source


@pytest.mark.parametrize(
    ("claim", "said"),
    [("SPF 15", "sun protection"), ("heals eczema", "disease"), ("for pregnancy", "pregnancy")],
)
def test_claims_that_are_not_served(tmp_path: Path, claim: str, said: str) -> None:
    folder = copied(tmp_path)
    changed(
        folder, f"formulas/{FLAGSHIP}.yaml", lambda t: t.replace("batch:", f'claims: ["{claim}"]\nbatch:', 1)
    )
    with pytest.raises(RefusedError, match=said):
        asked(table_in(folder), FLAGSHIP)


WISHES = """\
name: Wishes that clash
targets:
  - share: {kind: clay}
    at_least: 29 %%
    name: Much clay
    wish: %s
  - share: {kind: clay}
    at_most: 20 %%
    name: Little clay
    wish: %s
"""


@pytest.mark.parametrize(("much", "little", "least", "most"), [(1, 2, 29, 30), (2, 1, 18, 20)])
def test_of_wishes_that_clash_the_first_rank_is_met_and_the_other_told(
    tmp_path: Path, much: int, little: int, least: int, most: int
) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/wishes.yaml", WISHES % (much, little))
    proposal, request = proposed(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "wishes")
    clay = sum(v for n, v in shares(proposal).items() if request.ingredients[n].group == "clay")
    assert least - F(1, 1000) <= clay <= most + F(1, 1000)
    missed = [v for v in proposal.unmet_wishes if v.rule.head.rank == 2]
    assert len(missed) == 1
    wanted = 20 if much == 1 else 29
    assert missed[0].margin is not None
    assert abs(missed[0].margin) == abs(clay - wanted)
    assert not [v for v in proposal.unmet_wishes if v.rule.head.rank == 1]


def test_a_wish_never_costs_a_must(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(
        folder,
        "briefs/dear.yaml",
        "name: Far too much\ntargets:\n"
        "  - {share: {kind: clay}, at_least: 80 %, name: Eighty per cent clay, wish: 1}\n",
    )
    proposal, request = proposed(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "dear")
    missed = {v.rule.head.id: v for v in proposal.unmet_wishes}
    verdict = missed["briefs/dear#Eighty per cent clay"]
    clay = sum(v for n, v in shares(proposal).items() if request.ingredients[n].group == "clay")
    assert verdict.value == clay
    assert clay <= 30
    assert verdict.margin == clay - 80
