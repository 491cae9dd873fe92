"""What a rule asks, as a clause, and the limit that is searched for in steps as they are shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.request import SetAside
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Clash,
    Cost,
    Covers,
    Forecast,
    FreeLiquid,
    Legal,
    Level,
    LineCount,
    Mean,
    Needs,
    Newcomers,
    Ratio,
    Reaches,
    Rule,
    Share,
    Thickness,
    UseRange,
)
from optimiser.domain.selector import AnyOf, Pick
from optimiser.explain.giving import Side, changed, sides_of
from optimiser.explain.rest import bisected
from optimiser.explain.words import Tongue, asked_words, best_words, limit_words, side_words, who
from tests.small import fr, head, request

CLAY, GUM, KAOLIN = Pick("group", "clay"), Pick("group", "gum"), Pick("ingredient", "kaolin")
TONGUE = Tongue(request())


def as_read(word: str) -> str:
    """The word as a file brings it: equal, and not the same object."""
    return "".join(list(word))


NUT = Pick(as_read("flag"), "nut")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (Share(head("r"), AnyOf((CLAY, GUM)), fr(5), fr(9)), "5 to 9 % clay or gum"),
        (Share(head("r"), CLAY, None, fr("0.5"), "A"), "at most 0.5 % clay in phase A"),
        (Share(head("r"), CLAY, fr(5), fr(5)), "exactly 5 % clay"),
        (Share(head("r"), Pick("role", "film-forming"), fr(1)), "at least 1 % film forming ingredients"),
        (
            Level(head("r"), "thickening", fr("0.6")),
            "a level of thickening of at least 0.6 g xanthan per 100 g",
        ),
        (Level(head("r"), "least_dose_yeast", fr(2)), "a level of yeast of at least 2 doses"),
        (Mean(head("r"), "water_uptake", None, fr(1)), "mean water uptake of at most 1 g/g"),
        (Amount(head("r"), "kaolin", fr(0), fr(3)), "0 to 3 % Kaolin"),
        (UseRange(head("r"), "kaolin", None, fr(3)), "at most 3 % Kaolin where it is used"),
        (Ratio(head("r"), GUM, CLAY, None, fr("0.1")), "at most 0.1 parts gum to one of clay"),
        (Thickness(head("r"), fr(2), shear=fr(10)), "a thickness of at least 2 Pa.s at 10/s"),
        (FreeLiquid(head("r"), fr(2)), "at least 2 % free liquid after what the powders drink"),
        (FreeLiquid(head("r"), fr(2), oily=True), "at least 2 % free oil after what the powders drink"),
        (
            Forecast(head("r"), as_read("allergens"), None, fr(2)),  # type: ignore[arg-type]
            "at most 2 listed allergens named on the label",
        ),
        (Forecast(head("r"), "water_activity", None, fr("0.8")), "water activity of at most 0.8"),
        (Forecast(head("r"), "frost_proof", fr(5)), "frost proof of at least 5 °C"),
        (Cost(head("r"), fr(3)), "at most 3 EUR per kg"),
        (Acidity(head("r"), fr(4), fr(5)), "a pH of 4 to 5"),
        (Newcomers(head("r"), 1), "at most 1 new ingredient"),
        (Newcomers(head("r"), 2), "at most 2 new ingredients"),
        (LineCount(head("r"), 1), "at most 1 ingredient in all"),
        (LineCount(head("r"), 7), "at most 7 ingredients in all"),
        (Absent(head("r"), CLAY), "no clay"),
        (Absent(head("r"), NUT), "nothing that is or may be nut"),
        (Covers(head("r"), "yeast", fr("5.5")), "yeast covered by one preservative up to pH 5.5"),
        (Reaches(head("r"), "yeast", None), "yeast reached in the water by one preservative"),
        (Clash(head("r", "No clay beside gum."), CLAY, GUM), "No clay beside gum"),
    ],
)
def test_a_rule_as_a_clause(rule: Rule, words: str) -> None:
    assert asked_words(rule, TONGUE) == words


@pytest.mark.parametrize(
    ("rule", "side", "words", "best", "limit"),
    [
        (
            Share(head("r"), CLAY, fr(9)),
            0,
            "at least 8.5 % clay",
            "8.5 % is the most",
            "at least 8.5 %",
        ),
        (
            Share(head("r"), CLAY, None, fr(2)),
            0,
            "at most 8.5 % clay",
            "8.5 % is the least",
            "at most 8.5 %",
        ),
        (
            Ratio(head("r"), GUM, CLAY, None, fr(2)),
            0,
            "at most 8.5 parts gum to one of clay",
            "8.5 parts is the least",
            "at most 8.5",
        ),
        (
            Acidity(head("r"), fr(9), fr(10)),
            0,
            "a pH of at least 8.5",
            "the highest pH that can be held is 8.5",
            "at least 8.5",
        ),
        (
            Acidity(head("r"), fr(4), fr(5)),
            1,
            "a pH of at most 8.5",
            "the lowest pH that can be held is 8.5",
            "at most 8.5",
        ),
        (
            Needs(head("r"), CLAY, fr(0), GUM, fr(9)),
            0,
            "at least 8.5 % gum beside clay",
            "8.5 % is the most",
            "at least 8.5 %",
        ),
        (
            Legal(head("r", "So the law says."), (), fr(1)),
            0,
            "So the law says",
            "8.5 is the least",
            "at most 8.5 %",
        ),
    ],
)
def test_a_limit_in_words(rule: Rule, side: int, words: str, best: str, limit: str) -> None:
    moved, value = sides_of(rule)[side], fr("8.5")
    assert side_words(rule, moved, value, TONGUE) == words
    assert best_words(rule, moved, value, TONGUE) == best
    assert limit_words(rule, moved, value, TONGUE) == limit


@pytest.mark.parametrize(("count", "words"), [(1, "1 is needed"), (3, "3 are needed")])
def test_what_is_counted_is_needed(count: int, words: str) -> None:
    rule = Newcomers(head("r"), 0)
    assert best_words(rule, sides_of(rule)[0], fr(count), TONGUE) == words
    assert limit_words(rule, sides_of(rule)[0], fr(count), TONGUE) == f"at most {count}"


def test_an_ingredient_is_called_by_its_name_wherever_it_stands() -> None:
    asked = replace(
        request(), set_aside=(SetAside("oat", "no price", "Oat Flour"), SetAside("rye", "no price"))
    )
    tongue = Tongue(replace(asked, lenders={"lent": replace(asked.ingredients["kaolin"], name="Lent Salt")}))
    assert [tongue.named(name) for name in ("kaolin", "lent", "oat", "rye", "stray")] == [
        "Kaolin",
        "Lent Salt",
        "Oat Flour",
        "rye",
        "stray",
    ]


@pytest.mark.parametrize(
    ("rule", "whose"),
    [
        ("asked/2#clay", "You ask"),
        ("range#kaolin", "The supplier says"),
        ("mask#clay", "The formula asks"),
        ("house", "Common practice asks"),
    ],
)
def test_whose_rule_it_is(rule: str, whose: str) -> None:
    assert who(replace(Share(head("r"), CLAY, fr(1)), head=replace(head("r"), id=rule))) == whose


def test_a_rule_given_up_takes_no_other_along() -> None:
    rules = tuple(Share(head(name), CLAY, fr(1)) for name in ("a", "b", "c"))
    asked = replace(request(), rules=rules)
    assert changed(asked, rules[1], None).rules == (rules[0], rules[2])
    new = replace(rules[1], low=fr(2))
    assert changed(asked, rules[1], new).rules == (rules[0], new, rules[2])


@pytest.mark.parametrize(
    ("low", "high", "which"),
    [("-5", "5", ["low", "high"]), ("-5", "-1", ["low", "high"]), ("0", None, []), (None, "0", ["high"])],
)
def test_limits_below_nought_can_move_too(low: str | None, high: str | None, which: list[str]) -> None:
    ends = (None if one is None else fr(one) for one in (low, high))
    sides = sides_of(Mean(head("r"), "solids", *ends))
    assert [side.which for side in sides] == which
    assert all((side.far < side.asked) is side.floor for side in sides)


def counted(holds: Callable[[Fraction], bool]) -> tuple[Callable[[Fraction], bool], list[Fraction]]:
    asked: list[Fraction] = []

    def works(limit: Fraction) -> bool:
        asked.append(limit)
        return holds(limit)

    return works, asked


@pytest.mark.parametrize(
    ("asked", "far", "edge", "found"),
    [
        ("4", "14", "4.006", "4.01"),
        ("4", "14", "4.08", "4.08"),
        ("4", "14", "9.123", "9.13"),
        ("4", "14", "13.999", "14"),
        ("5", "0", "4.996", "4.99"),
        ("5", "0", "2.5", "2.5"),
        ("5", "0", "1.001", "1"),
        ("5", "0", "0.9999", "0.9999"),
        ("5", "0", "0.00005", "0"),
        ("0.2", "0.9", "0.20001", "0.2001"),
        ("0.2", "80", "0.99995", "1"),
        ("0.2", "80", "1.001", "1.01"),
        ("0.2", "80", "79.995", "80"),
    ],
)
def test_the_nearest_limit_that_works_in_shown_steps(asked: str, far: str, edge: str, found: str) -> None:
    up = fr(far) > fr(asked)
    works, tried = counted(lambda limit: limit >= fr(edge) if up else limit <= fr(edge))
    assert bisected(fr(asked), fr(far), works) == fr(found)
    assert len(tried) < 25


def test_what_works_nowhere_or_cannot_move_is_not_searched() -> None:
    works, tried = counted(lambda _: False)
    assert bisected(fr(4), fr(14), works) is None
    assert tried == [14]
    works, tried = counted(lambda _: True)
    assert bisected(fr(4), fr(4), works) is None
    assert tried == []


def test_a_side_is_a_floor_or_a_ceiling() -> None:
    floors = {"low": True, "at_least": True, "high": False, "at_most": False, "maximum": False}
    sides = {which: Side(which, fr(1), fr(0)).floor for which in floors}  # type: ignore[arg-type]
    assert sides == floors
