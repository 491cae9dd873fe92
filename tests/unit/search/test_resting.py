"""Numbers that nobody looked up: told where a rule uses them, holding a sheet where law or safety does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.checks.judge import judge
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import Level, Rule
from optimiser.search.resting import held, rests_on
from tests.acids import TABLE, ranged, window, world
from tests.small import fr, head

GUESSED = {
    **TABLE,
    "kaolin": replace(
        TABLE["kaolin"],
        figures={
            **{name: replace(one, status="memory") for name, one in TABLE["kaolin"].figures.items()},
            "thickening": ranged("0.05 0.1 0.2", "g xanthan/g", "assumed"),
        },
    ),
}
BASE = {"kaolin": "10", "citric": "1", "benzoate": "0.4"}


def asked(*rules: Rule, dosed: bool = False) -> Request:
    if not dosed:
        return world(rules, BASE, table=GUESSED)
    base = {name: share for name, share in BASE.items() if name != "citric"}
    return world(rules, base, {"citric": "3"}, GUESSED)


def told(request: Request) -> tuple[tuple[Remark, ...], tuple[Remark, ...]]:
    verdicts = judge(request, request.base)
    return rests_on(request, request.base, verdicts), held(request, request.base, verdicts)


def test_an_assumed_strength_of_a_matter_of_character_is_told_and_holds_nothing() -> None:
    resting, holding = told(asked(Level(head("thick"), "thickening", fr("0.5"))))
    assert [one.about for one in resting] == ["kaolin"]
    assert "thickening of Kaolin is assumed (0.1 g xanthan/g)" in resting[0].text
    assert holding == ()


def test_where_safety_asks_for_it_it_holds_the_sheet() -> None:
    hard = Level(replace(head("thick"), basis="safety"), "thickening", fr("0.5"))
    resting, holding = told(asked(hard))
    assert holding == resting != ()


def test_a_ph_that_nothing_corrects_rests_on_remembered_clay_and_holds_the_sheet() -> None:
    resting, holding = told(asked(window("2", "8")))
    assert len(resting) == 2
    assert all("of Kaolin is from memory" in one.text for one in resting)
    assert holding == resting


@pytest.mark.parametrize("worst", [True, False])
def test_a_ph_dosed_to_a_reading_is_settled_by_that_reading(worst: bool) -> None:
    assert told(asked(window("4.5", "5.5", ["citric"], worst=worst), dosed=True)) == ((), ())


def test_a_ph_that_no_acid_preservative_hangs_on_holds_nothing() -> None:
    resting, holding = told(asked(window("2", "8", worst=False)))
    assert len(resting) == 2
    assert holding == ()


def test_a_wish_rests_on_nothing_that_holds() -> None:
    wish = window("2", "8")
    wish = replace(wish, head=replace(wish.head, rank=1, basis="wish"))
    assert told(asked(wish)) == ((), ())
