"""Ways out of every kind: ceilings, the pH window, pairs, needs, numbers nobody looked up, finer steps."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.checks.judge import broken, judge
from optimiser.domain.formula import Dosed
from optimiser.domain.ingredient import Place
from optimiser.domain.outcome import Concession, Impossible, Undecided
from optimiser.domain.request import Request, SetAside, Slot
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Clash,
    Covers,
    Legal,
    Level,
    Needs,
    Rule,
    Share,
    Stock,
    UseRange,
)
from optimiser.domain.selector import Pick
from optimiser.explain.allowing import allowed_again, bought
from optimiser.explain.giving import Side, beyond, changed, may_give, outward, sides_of, with_ceilings
from optimiser.explain.impossible import explain_impossible
from optimiser.explain.names import label
from optimiser.explain.rest import Rest
from optimiser.explain.unknown import unknown_of
from optimiser.explain.words import Tongue
from optimiser.solver.interface import Limits
from tests.points import clays, only, placed
from tests.small import CLAY, COVERS, figure, fr, head, request

CLAYS, GUM = Pick("group", "clay"), Pick("group", "gum")


def mud(*rules: Rule) -> Request:
    asked = request(formula=clays(kaolin="20"))
    names = ["water", "kaolin", "illite", "bentonite", "xanthan", "glycerin"]
    return replace(only(asked, names), rules=rules, pulls=())


def test_a_rule_is_called_by_the_whole_name_of_its_ingredient() -> None:
    ratio = head("aloe", "Aloe powder 200:1, when used: between 0.1 % and 1 %.")
    assert label(UseRange(ratio, "aloe", fr("0.1"), fr("1"))) == "Aloe powder 200:1, when used"


def told(asked: Request) -> Impossible | Undecided:
    return explain_impossible(asked, (), Limits(), off_grid=False, tell=lambda _: None)


def impossible(asked: Request) -> Impossible:
    found = told(asked)
    assert isinstance(found, Impossible)
    return found


def cure(found: Impossible | Undecided, name: str) -> Concession:
    return next(c for c in found.concessions if c.rule.head.id == name)


def holds_but_for(asked: Request, given: Concession) -> None:
    """Its formula breaks the rule that gives way as it was asked, and nothing else."""
    verdicts = judge(asked, placed(asked, given.lines))
    assert [v.rule.head.id for v in broken(verdicts)] == [given.rule.head.id]


def test_a_dosed_line_may_be_allowed_more() -> None:
    slot = Slot("glycerin", "B")
    asked = mud(Amount(head("wet"), "water", None, fr(70)), Share(head("clay"), CLAYS, None, fr(25)))
    asked = replace(
        only(asked, ["water", "kaolin", "glycerin"]),
        fixed={slot: fr(3)},
        dosed={slot: Dosed("pH 5")},
        slots=(Slot("water", "B"), Slot("kaolin", "B"), slot),
    )
    found = impossible(asked)
    given = cure(found, "ceiling#glycerin@B")
    assert (given.asked, given.enough) == ("at most 3 %", "at most 5 %")
    assert given.sentence == (
        "The formula allows at most 3 % Glycerin; with the other rules as they are, 5 % is the least."
    )
    assert dict(given.lines)["glycerin"] == 5
    assert cure(found, "test#wet").enough == "at most 72 %"


def test_a_ceiling_is_a_rule_only_while_ways_out_are_sought() -> None:
    slot = Slot("glycerin", "B")
    asked = replace(mud(CLAY), fixed={slot: fr(3)}, dosed={slot: Dosed("pH 5")}, slots=(slot,))
    (_, ceiling) = with_ceilings(asked).rules
    assert ceiling.head.sentence == "Glycerin, dosed to pH 5: at most 3 %."
    more = changed(with_ceilings(asked), ceiling, replace(ceiling, high=fr(4)))  # type: ignore[arg-type]
    assert more.fixed == {slot: fr(4)}


def test_the_window_of_the_ph_goes_down_to_where_a_preservative_counts() -> None:
    covers = replace(COVERS[1], ph_top=fr("6.2"))
    window = Acidity(head("pH", basis="safety"), fr("5.8"), fr("6.2"))
    asked = request(CLAY, window)
    acid = replace(asked.ingredients["glycerin"], roles=("acid-adjuster",))
    asked = replace(
        asked,
        ingredients={**asked.ingredients, "glycerin": acid},
        ph_window=(fr("5.8"), fr("6.2")),
        rules=(CLAY, window, covers),
    )
    found = impossible(asked)
    assert {rule.head.id for rule in found.conflicts[0].rules} == {"test#covers-yeast"}
    (given,) = found.concessions
    assert given.rule.head.id == "test#pH"
    assert (given.asked, given.enough) == ("a pH of 5.8 to 6.2", "a pH of 5.1 to 5.5")
    assert given.steps == fr("0.7") / fr("0.062")
    (told_too,) = found.conflicts[0].told
    assert told_too == (
        "Acid preservatives count only where the pH is low enough: Benzoate up to pH 5.5; "
        "the window goes up to 6.2."
    )


def test_the_window_of_the_ph_goes_up_no_further_than_a_preservative_counts() -> None:
    """The law asks for pH 5.2 at least; at pH 14, as far as a window goes, nothing would be covered."""
    window = Acidity(head("pH"), fr(4), fr(5))
    law = Acidity(head("law", basis="law"), fr("5.2"), fr(9))
    asked = request(CLAY, window)
    acid = replace(asked.ingredients["glycerin"], roles=("acid-adjuster",))
    asked = replace(
        asked,
        ingredients={**asked.ingredients, "glycerin": acid},
        ph_window=(fr(4), fr(5)),
        rules=(CLAY, law, window, replace(COVERS[1], ph_top=fr(5))),
    )
    found = impossible(asked)
    assert {rule.head.id for rule in found.conflicts[0].rules} == {"test#law", "test#pH"}
    (given,) = found.concessions
    assert (given.asked, given.enough) == ("at most 5", "at most 5.2")


def test_a_window_takes_along_what_has_to_be_covered_at_its_top() -> None:
    window = Acidity(head("pH"), fr("4.5"), fr("5.5"))
    asked = request(window)
    wider = changed(asked, window, replace(window, high=fr("5.8")))
    assert wider.ph_window == (fr("4.5"), fr("5.8"))
    assert {rule.ph_top for rule in wider.rules if isinstance(rule, Covers)} == {fr("5.8")}
    lower = changed(asked, window, replace(window, low=fr(4)))
    assert lower.ph_window == (fr(4), fr("5.5"))
    assert {rule.ph_top for rule in lower.rules if isinstance(rule, Covers)} == {fr("5.5")}


def test_a_need_gives_way_to_the_gram() -> None:
    asked = mud(
        Needs(head("needs"), Pick("ingredient", "kaolin"), fr(0), GUM, fr(2)),
        UseRange(head("x", basis="house"), "xanthan", None, fr("0.75")),
        Amount(head("k"), "kaolin", fr(10)),
    )
    found = impossible(asked)
    assert (cure(found, "test#needs").asked, cure(found, "test#needs").enough) == (
        "at least 2 %",
        "at least 0.75 %",
    )
    assert (cure(found, "test#x").asked, cure(found, "test#x").enough) == ("at most 0.75 %", "at most 2 %")
    for given in found.concessions:
        holds_but_for(asked, given)


@pytest.mark.parametrize(("basis", "offered"), [("house", True), ("safety", False)])
def test_a_pair_is_put_up_with_only_where_it_is_advice(basis: str, offered: bool) -> None:
    clash = Clash(head("clash", "Clay and gum clump.", basis=basis), CLAYS, GUM)
    found = impossible(mud(clash, Share(head("c"), CLAYS, fr(10)), Share(head("g"), GUM, fr(1))))
    sentences = [c.sentence for c in found.concessions if c.rule.head.id == "test#clash"]
    assert sentences == (["Put up with it: Clay and gum clump."] if offered else [])


def test_what_can_never_be_enough_is_said() -> None:
    found = impossible(
        mud(
            Share(head("much"), CLAYS, fr(60)),
            Amount(head("k"), "kaolin", None, fr(40)),
            Amount(head("i"), "illite", None, fr(0)),
            Amount(head("b"), "bentonite", None, fr(0)),
            Amount(head("wet"), "water", fr(50)),
        )
    )
    best = {remark.about: remark.text for remark in found.conflicts[0].best}
    never = [
        text
        for text in best.values()
        if text.endswith("However far this alone gives way, another clash remains.")
    ]
    assert never
    assert best["test#much"].endswith("is the most.")


def test_the_law_is_told_with_what_the_rest_needs() -> None:
    law = Legal(head("law", "Kaolin: at most 5 %.", basis="law"), (("Kaolin", fr(1)),), fr(5))
    found = impossible(mud(Amount(head("kaolin"), "kaolin", fr(20)), law))
    best = {remark.about: remark.text for remark in found.conflicts[0].best}
    assert best["test#law"] == (
        "Kaolin: at most 5 %; with the other rules as they are, 20 % is the least. "
        "It is the law: it is not offered."
    )


@pytest.mark.parametrize(("by", "nearly"), [("0.0005", True), ("0.0015", False), ("1", False)])
def test_less_than_a_printed_step_is_nearly(by: str, nearly: bool) -> None:
    asked = mud(Share(head("much"), CLAYS, fr(40) + fr(by)), Amount(head("wet"), "water", fr(60)))
    found = impossible(asked)
    assert found.nearly is nearly
    assert cure(found, "test#much").enough == "at least 40 %"


def test_between_two_steps_finer_ones_are_offered() -> None:
    asked = mud(Share(head("r"), CLAYS, fr("20.0004"), fr("20.0006")))
    found = explain_impossible(asked, (), Limits(), off_grid=True, tell=lambda _: None)
    assert isinstance(found, Undecided)
    (way,) = found.concessions
    assert way.outside
    assert way.sentence == (
        "Beyond what you asked: in steps of 0.0001 % it is possible. That takes a balance 10 times as fine, "
        "or on the same balance a batch of 2500 g."
    )
    verdicts = judge(replace(asked, grid=fr("0.0001")), placed(asked, way.lines))
    assert broken(verdicts) == ()


def test_an_assumed_number_is_told_with_the_value_that_turns_the_verdict() -> None:
    """One per cent of xanthan has to do the work of 1.2: possible from a strength of 1.2 on."""
    asked = mud(
        Level(head("thick"), "thickening", fr("1.2")),
        UseRange(head("x"), "xanthan", None, fr(1)),
        UseRange(head("b"), "bentonite", None, fr(0)),
    )
    guess = replace(asked.ingredients["xanthan"], figures={"thickening": figure("1", "", "0.3", "assumed")})
    found = told(replace(asked, ingredients={**asked.ingredients, "xanthan": guess}))
    assert isinstance(found, Undecided)
    (remark,) = found.rests_on
    assert remark.text.endswith("Impossible at 1, possible from 1.2 on.")


def test_what_nobody_told_is_named_with_its_place() -> None:
    asked = request(Absent(head("nut"), Pick("flag", "nut")))
    unsaid = replace(asked.ingredients["kaolin"], place=Place("ingredients.csv", 7))
    aside = SetAside("marl", "no thickening strength", "Marl", Place("ingredients.csv", 9))
    asked = replace(asked, ingredients={**asked.ingredients, "kaolin": unsaid}, set_aside=(aside,))
    rules = (Absent(head("nut"), Pick("flag", "nut")), Amount(head("marl"), "marl", fr(1)))
    remarks = {remark.about: remark for remark in unknown_of(asked, rules)}
    assert remarks["marl"].text == "Marl was not considered: no thickening strength. Fill in properties.csv."
    assert remarks["marl"].source == "ingredients.csv:9"
    assert remarks["kaolin"].text == (
        "Nobody has said whether Kaolin is nut, so it counts as if it were. "
        "Add a line for kaolin to flags.csv."
    )
    assert remarks["kaolin"].source == "ingredients.csv:7"


def test_only_what_a_line_should_have_told_is_missed() -> None:
    """A thickener its strength, a preservative some dose, any line its make-up; no more than that."""
    asked = request()
    bare = {
        name: replace(asked.ingredients[name], figures={}, composition=None)
        for name in ("xanthan", "benzoate", "glycerin")
    }
    asked = replace(asked, ingredients={**asked.ingredients, **bare})
    level, covers = Level(head("r"), "thickening", fr(1)), replace(COVERS[1], ph_top=fr(5))
    told = {
        rule: [(remark.about, remark.text) for remark in unknown_of(asked, [rule])]
        for rule in (level, covers, replace(level, strength="least_dose_yeast"), Legal(head("r"), (), fr(1)))
    }
    strength = "no thickening strength, so it counts as none. Add xanthan,thickening,… to properties.csv."
    add = "Add benzoate,least_dose_yeast,… to properties.csv."
    dose = f"no least dose against yeast, so it counts as none. {add}"
    made = "is made of is not known, so it may hold anything. Fill in composition.csv."
    assert list(told.values()) == [
        [("xanthan", f"Xanthan has {strength}")],
        [("benzoate", f"Benzoate has {dose}")],
        [],
        [(name, f"What {name.title()} {made}") for name in ("benzoate", "glycerin", "xanthan")],
    ]


def test_law_safety_and_wishes_may_not_give() -> None:
    for basis in ("law", "safety", "physics"):
        assert not may_give(Share(head("x", basis=basis), CLAYS, fr(1)))
    assert not may_give(Share(head("x", rank=1), CLAYS, fr(1)))
    assert may_give(Acidity(head("pH", basis="safety"), fr(4), fr(5)))
    assert not may_give(Acidity(head("pH", basis="law"), fr(4), fr(5)))


@pytest.mark.parametrize(
    ("needed", "back"),
    [
        (["kaolin"], ["kaolin"]),
        (["illite", "kaolin"], ["illite", "kaolin"]),
        (["bentonite", "illite", "kaolin"], []),
    ],
)
def test_one_or_two_come_back_and_beyond_that_the_rule_is_given_up(
    needed: list[str], back: list[str]
) -> None:
    out = Absent(head("out", "No clay."), CLAYS)
    asked = mud(out, *(Amount(head(name), name, fr(1)) for name in needed))
    (found,) = allowed_again(Rest(asked, Limits()), out, Tongue(asked))
    assert (list(found.back), found.enough == "without it") == (back, not back)


@pytest.mark.parametrize("needed", [["kaolin"], ["illite", "kaolin"], ["bentonite", "illite", "kaolin"]])
def test_all_that_is_lacking_is_bought_however_many_they_are(needed: list[str]) -> None:
    shelf = Stock(head("shelf"), {"water": fr(100)})
    asked = mud(shelf, *(Amount(head(name), name, fr(1)) for name in needed))
    (found,) = bought(Rest(asked, Limits()), shelf, Tongue(asked))
    assert list(found.back) == needed
    assert found.enough.count("2.5 g of ") == len(needed)


@pytest.mark.parametrize(
    ("which", "value", "shown", "eased"),
    [
        ("low", "34.758", "34.75", "34.72"),
        ("high", "34.751", "34.76", "34.79"),
        ("low", "0.12345", "0.1234", "0.1231"),
        ("high", "0.5", "0.5", "0.5003"),
        ("at_most", "2.0000001", "2", "5"),
        ("low", "0.0002", "0.0002", "0"),
    ],
)
def test_limits_are_shown_outward_and_eased_by_shown_steps(
    which: str, value: str, shown: str, eased: str
) -> None:
    far = fr(0) if which == "low" else fr(100)
    side = Side(which, fr(50), far)  # type: ignore[arg-type]
    assert outward(fr(value), side) == fr(shown)
    assert beyond(fr(shown), side, 2) == fr(eased)


def test_a_rule_has_its_sides_by_its_limits_alone() -> None:
    assert [s.which for s in sides_of(Share(head("x"), CLAYS, fr(0), fr(5)))] == ["high"]
    assert [s.which for s in sides_of(Share(head("x"), CLAYS, fr(1), fr(5)))] == ["low", "high"]
    assert sides_of(Clash(head("x"), CLAYS, GUM)) == ()
    assert [s.far for s in sides_of(Acidity(head("x"), fr(4), fr(14)))] == [fr(0)]
