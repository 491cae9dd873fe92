"""Rules that stand together on one screen have names of their own, whoever asks for them."""

from __future__ import annotations

import pytest

from optimiser.domain.moved import Moved
from optimiser.domain.rules import Acidity, Amount, Head, Newcomers, Share
from optimiser.domain.selector import Pick
from optimiser.explain.names import called, label, names_of, whose
from tests.small import fr

WAX = Pick("group", "wax")
NAMED = {"beeswax": "Beeswax"}


def share(rule_id: str) -> Share:
    return Share(Head(rule_id, "Share of wax: at least 5 %."), WAX, fr("5"))


def test_the_same_thing_asked_twice_says_by_whom() -> None:
    few = [
        Newcomers(Head("formulas/balm#Few new", "At most 2 ingredients that the base does not have."), 2),
        Newcomers(Head("briefs/more-clay#One new", "At most 1 ingredient that the base does not have."), 1),
    ]
    wax = [share("carried#share-wax"), share("carried#kind-wax"), share("formulas/balm#Wax")]
    assert list(names_of([*few, *wax]).values()) == [
        "New ingredients (by the formula)",
        "New ingredients (by the brief more clay)",
        "Share of wax (as in the base)",
        "Share of wax (for the same work)",
        "Share of wax (by the formula)",
    ]


def test_briefs_that_were_put_together_are_all_named() -> None:
    assert whose("briefs/more-clay+cheapest#Clay") == "by the briefs more clay and cheapest"


def test_what_stands_once_needs_no_more() -> None:
    assert names_of([share("carried#share-wax")]) == {"carried#share-wax": "Share of wax"}


def test_two_of_one_file_are_told_apart_by_what_they_are_called() -> None:
    found = names_of([share("formulas/balm#Hold"), share("formulas/balm#Gloss")])
    assert list(found.values()) == [
        "Share of wax (by the formula) (Hold)",
        "Share of wax (by the formula) (Gloss)",
    ]


def test_a_name_holds_no_limit() -> None:
    acid = Acidity(
        Head("formulas/a#pH", "pH between 4.5 and 5, set at the table by reading."), fr("4.5"), fr("5")
    )
    assert label(acid) == "pH, set at the table by reading"
    assert label(Amount(Head("hero#beeswax", "Beeswax: at least 9 %."), "beeswax", fr("9"))) == "Beeswax"


@pytest.mark.parametrize(
    ("rule", "name"),
    [
        ("carried#share-fatty-alcohol", "share of fatty alcohol"),
        ("carried#kind-wax", "share of wax (for the same work)"),
        ("carried#role-hair-conditioning", "share of what is there for hair conditioning"),
        ("carried#line-beeswax", "Beeswax (as in the base)"),
        ("carried#newcomers", "new ingredients"),
        ("hero#beeswax", "Beeswax (for the front label)"),
        ("range#beeswax", "Beeswax (the supplier's range)"),
        ("briefs/more-clay#Clay at least 28 %", "Clay at least 28 %"),
        ("asked#use beeswax", "use beeswax"),
        ("beeswax", "Beeswax"),
    ],
)
def test_a_limit_that_was_moved_is_called_by_its_id(rule: str, name: str) -> None:
    assert called(Moved(rule).rule, lambda word: NAMED.get(word, word)) == name
