"""Impossible requests: the conflict, its witnesses and proof, and the least concession."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.judge import broken, judge
from optimiser.domain.outcome import Concession, Impossible, Undecided
from optimiser.domain.request import Request
from optimiser.domain.rules import (
    Absent,
    Amount,
    Clash,
    Cost,
    Covers,
    Legal,
    Level,
    LineCount,
    Mean,
    Newcomers,
    Ratio,
    Rule,
    Share,
    Stock,
    UseRange,
)
from optimiser.domain.selector import AnyOf, Pick
from optimiser.explain.conflict import find_conflict, hard_model
from optimiser.explain.impossible import explain_impossible
from optimiser.search.propose import search
from optimiser.solver.interface import Limits, Outcome
from optimiser.solver.solving import solve
from tests.points import clays, only, placed
from tests.small import CLAY, NO_STRONG, THICK, figure, fr, head, request

CLAY_NAMES = {"kaolin", "illite", "bentonite"}
CLAYS, GUM, POLYOL = Pick("group", "clay"), Pick("group", "gum"), Pick("group", "polyol")


def mud(*rules: Rule) -> Request:
    """Water, clays and gums, with these rules alone and nothing carried."""
    asked = request(formula=clays(kaolin="20"))
    names = ["water", "kaolin", "illite", "bentonite", "xanthan", "glycerin"]
    return replace(only(asked, names), rules=rules, pulls=())


def told(asked: Request, *, off_grid: bool = False) -> Impossible | Undecided:
    steps: list[str] = []
    found = explain_impossible(asked, (), Limits(), off_grid=off_grid, tell=steps.append)
    assert steps
    return found


def impossible(asked: Request) -> Impossible:
    """The verdict, once its conflict has been looked at from all sides."""
    assert search(asked, limits=Limits()).infeasible
    found = told(asked)
    assert isinstance(found, Impossible)
    (conflict,) = found.conflicts
    assert conflict.minimal
    assert {w.rule for w in conflict.witnesses} == {rule.head.id for rule in conflict.rules}
    for witness in conflict.witnesses:
        others = tuple(rule for rule in conflict.rules if rule.head.id != witness.rule)
        shares = placed(asked, witness.lines)
        verdicts = judge(replace(asked, rules=others), shares)
        assert broken(verdicts) == ()
        (missed,) = judge(replace(asked, rules=(_rule(asked, witness.rule),)), shares)[1:]
        assert not missed.met
    for cure in found.concessions:
        assert cure.rule.head.basis not in ("law", "safety", "physics")
        if cure.proposal is not None:
            assert broken(cure.proposal.verdicts) == ()
    return found


def _rule(asked: Request, name: str) -> Rule:
    return next(rule for rule in asked.rules if rule.head.id == name)


def members(found: Impossible) -> set[str]:
    return {rule.head.id.removeprefix("test#") for rule in found.conflicts[0].rules}


def cure(found: Impossible, name: str) -> Concession:
    return next(c for c in found.concessions if c.rule.head.id == f"test#{name}")


def test_a_conflict_names_what_clashes_and_nothing_else() -> None:
    asked = mud(
        Share(head("much"), CLAYS, fr(40)),
        Amount(head("wet"), "water", fr(65)),
        Share(head("gum"), GUM, None, fr(1)),
        Cost(head("cheap"), fr(90)),
    )
    found = impossible(asked)
    assert members(found) == {"much", "wet"}
    assert found.agreed == ("HiGHS", "CBC")
    assert found.conflicts[0].certified
    assert found.conflicts[0].proof[-1].startswith("together: 0 would have to be at least ")


def test_the_concession_is_the_exact_limit() -> None:
    found = impossible(mud(Share(head("much"), CLAYS, fr(40)), Amount(head("wet"), "water", fr("65.25"))))
    much, wet = cure(found, "much"), cure(found, "wet")
    assert (much.asked, much.enough) == ("at least 40 %", "at least 34.75 %")
    assert (wet.asked, wet.enough) == ("at least 65.25 %", "at least 60 %")
    assert much.steps == fr("5.25") / fr("0.4")
    assert [c.rule for c in found.concessions] == [wet.rule, much.rule]
    assert wet.proposal is not None
    assert much.proposal is None
    assert {line.ingredient: line.percent for line in wet.proposal.lines}["water"] == 60
    assert wet.proposal.heading == "With this concession"
    assert wet.sentence == (
        "The formula asks at least 65.25 % Water; with the other rules as they are, 60 % is the most."
    )
    assert dict(much.lines)["kaolin"] == fr("34.75")
    assert {r.about: r.text for r in found.conflicts[0].best} == {
        "test#much": "The formula asks at least 40 % clay; "
        "with the other rules as they are, 34.75 % is the most.",
        "test#wet": wet.sentence,
    }


def test_an_upper_limit_gives_way_upwards() -> None:
    found = impossible(
        mud(
            Share(head("most"), CLAYS, None, fr(10)),
            Amount(head("dry"), "water", None, fr(80)),
            Share(head("rest"), AnyOf((GUM, POLYOL)), None, fr(2)),
        )
    )
    assert members(found) == {"most", "dry", "rest"}
    assert cure(found, "most").enough == "at most 18 %"
    assert cure(found, "dry").enough == "at most 88 %"
    assert cure(found, "rest").enough == "at most 10 %"


def test_a_limit_is_shown_outwards_to_two_places() -> None:
    """Solids of 20 % from kaolin alone ask for 20.20202… % of it."""
    asked = mud(
        Mean(head("solid"), "solids", fr(20)),
        Amount(head("wet"), "water", fr(80)),
        Share(head("plain"), CLAYS, fr(20)),
        Amount(head("no bentonite"), "bentonite", None, fr(0)),
    )
    found = impossible(asked)
    assert cure(found, "solid").enough == "at least 19.8 %"
    wet = cure(found, "wet")
    assert wet.enough == "at least 79.79 %"
    assert found.concessions[0] is wet
    assert wet.proposal is not None


def test_the_law_is_never_offered() -> None:
    law = Legal(head("law", basis="law"), (("Kaolin", fr(1)),), fr(5))
    found = impossible(mud(Amount(head("kaolin"), "kaolin", fr(20)), law))
    assert members(found) == {"kaolin", "law"}
    assert [c.rule.head.id for c in found.concessions] == ["test#kaolin"]
    assert cure(found, "kaolin").enough == "at least 5 %"


def test_safety_is_never_offered() -> None:
    safe = Level(head("safe", basis="safety"), "thickening", None, fr("0.1"))
    found = impossible(mud(Amount(head("gum"), "xanthan", fr(1)), safe))
    assert [c.rule.head.id for c in found.concessions] == ["test#gum"]


def test_between_laws_there_is_no_concession() -> None:
    laws = (
        Legal(head("law", basis="law"), (("Kaolin", fr(1)),), fr(5)),
        Share(head("floor", basis="law"), Pick("substance", "Kaolin"), fr(6)),
    )
    assert impossible(mud(*laws)).concessions == ()


@pytest.mark.parametrize(("low", "high"), [(None, "0.1"), (None, "0"), ("0.05", "0.1")])
def test_a_ratio_gives_way_to_the_exact_limit(low: str | None, high: str) -> None:
    """Half a per cent of gum over two of glycerin is 0.25."""
    ratio = Ratio(head("ratio"), GUM, POLYOL, fr(low) if low else None, fr(high))
    found = impossible(
        mud(
            ratio,
            Amount(head("gum"), "xanthan", fr("0.5")),
            Amount(head("glycerin"), "glycerin", None, fr(2)),
        )
    )
    assert cure(found, "ratio").enough == "at most 0.25"
    assert cure(found, "ratio").asked == f"at most {high}"


def test_a_ratio_s_lower_limit_gives_way_too() -> None:
    ratio = Ratio(head("ratio"), GUM, POLYOL, fr("0.4"), fr("0.9"))
    asked = mud(
        ratio, Amount(head("gum"), "xanthan", None, fr(1)), Amount(head("glycerin"), "glycerin", fr(5))
    )
    found = impossible(asked)
    assert (cure(found, "ratio").asked, cure(found, "ratio").enough) == ("at least 0.4", "at least 0.2")


def test_more_newcomers_would_do() -> None:
    """One is enough for the conflict, two for the whole request."""
    asked = mud(
        Newcomers(head("new"), 0),
        Amount(head("gum"), "xanthan", fr(1)),
        Amount(head("glycerin"), "glycerin", fr(1)),
    )
    found = impossible(asked)
    assert "new" in members(found)
    assert len(members(found)) == 2
    assert cure(found, "new").enough == "at most 2"


def test_newcomers_are_counted_up_by_whole_ones() -> None:
    asked = mud(
        Newcomers(head("new"), 0),
        Level(head("thick"), "thickening", fr("0.5"), fr("0.9")),
        UseRange(head("range", basis="house"), "bentonite", None, fr(1)),
    )
    found = impossible(asked)
    assert (cure(found, "new").asked, cure(found, "new").enough) == ("at most 0", "at most 1")
    assert cure(found, "new").steps == 10
    assert cure(found, "new").sentence == (
        "The formula asks at most 0 new ingredients; with the other rules as they are, 1 is needed. "
        "It could be Xanthan."
    )


def test_lines_are_counted_up_too() -> None:
    found = impossible(
        mud(
            LineCount(head("few"), 1), Share(head("clay"), CLAYS, fr(20)), Amount(head("wet"), "water", fr(5))
        )
    )
    assert cure(found, "few").enough == "at most 2"


def test_a_price_gives_way() -> None:
    found = impossible(mud(Cost(head("cheap"), fr("0.6")), Share(head("clay"), CLAYS, fr(20))))
    assert (cure(found, "cheap").asked, cure(found, "cheap").enough) == (
        "at most 0.6 EUR per kg",
        "at most 1.2 EUR per kg",
    )


def test_one_thing_left_out_comes_back_with_the_least_that_does_it() -> None:
    out = Absent(head("out", "No clay."), CLAYS)
    found = impossible(
        mud(
            out,
            Amount(head("wet"), "water", None, fr(50)),
            UseRange(head("g"), "glycerin", None, fr(5)),
            UseRange(head("x"), "xanthan", None, fr(1)),
        )
    )
    given = cure(found, "out")
    assert (given.enough, given.steps) == ("allow Bentonite (at least 44 %)", fr(50))
    assert given.sentence == (
        "The formula asks no clay; allow Bentonite (at least 44 %) again, and the rest holds."
    )
    backs = [c for c in found.concessions if c.rule.head.id == "test#out"]
    assert {next(iter({*dict(c.lines)} & CLAY_NAMES)) for c in backs} == {"bentonite", "illite", "kaolin"}
    for back in backs:
        assert len({*dict(back.lines)} & CLAY_NAMES) == 1


def test_what_the_shelf_lacks_is_bought_to_the_gram() -> None:
    found = impossible(mud(Stock(head("shelf"), {"kaolin": fr(20), "illite": fr(50)})))
    assert members(found) == {"shelf"}
    assert [(c.enough, c.outside) for c in found.concessions[:2]] == [
        ("buy 75 g more Illite", False),
        ("buy 75 g more Kaolin", False),
    ]
    assert found.concessions[2].enough.startswith("buy 75 g of ")
    assert found.concessions[2].outside
    assert found.concessions[0].sentence == (
        "Buy 75 g more Illite for the batch of 250 g, and the rest holds."
    )
    assert dict(found.concessions[0].lines)["illite"] == 80


def test_a_clash_of_safety_and_coverage_are_not_haggled_over() -> None:
    clash = Clash(head("clash", basis="safety"), CLAYS, Pick("ingredient", "water"))
    found = impossible(
        mud(clash, Amount(head("wet"), "water", fr(50)), Amount(head("clay"), "kaolin", fr(5)))
    )
    assert {c.rule.head.id for c in found.concessions} <= {"test#wet", "test#clay"}
    assert _best(found, "clash").endswith("It is a matter of safety: it is not offered.")
    bare = impossible(mud(Covers(head("covers", basis="safety"), "yeast", fr(5))))
    assert (members(bare), bare.concessions) == ({"covers"}, ())
    assert _best(bare, "covers").endswith("It is a matter of safety: it is not offered.")


def _best(found: Impossible, name: str) -> str:
    return next(r.text for r in found.conflicts[0].best if r.about == f"test#{name}")


def test_something_without_a_line_is_named_and_proved() -> None:
    found = impossible(mud(Amount(head("lanolin"), "lanolin", fr(5)), Share(head("clay"), CLAYS, fr(20))))
    assert members(found) == {"lanolin"}
    assert found.conflicts[0].certified
    assert cure(found, "lanolin").enough == "at least 0 %"


def test_wishes_are_no_part_of_a_conflict() -> None:
    wish = Share(head("wish", rank=1), CLAYS, None, fr(10))
    found = impossible(mud(wish, Share(head("much"), CLAYS, fr(40)), Amount(head("wet"), "water", fr(65))))
    assert members(found) == {"much", "wet"}


def test_what_was_asked_is_named_before_what_stands() -> None:
    carried = Share(replace(head("x"), id="carried#clay"), CLAYS, fr(15))
    brief = Share(replace(head("x"), id="briefs/dry.yaml#clay"), CLAYS, fr(18))
    asked = mud(carried, brief, Amount(head("wet"), "water", fr(95)))
    assert {r.head.id for r in impossible(asked).conflicts[0].rules} == {"briefs/dry.yaml#clay", "test#wet"}


def test_the_small_mask_without_clay_cannot_be() -> None:
    found = impossible(request(CLAY, NO_STRONG, THICK, Absent(head("out"), CLAYS)))
    assert members(found) == {"clay", "out"}


def test_less_than_a_thousandth_short_is_nearly() -> None:
    """The float solver lets a ten-billionth pass; fractions do not."""
    asked = mud(Share(head("much"), CLAYS, fr("40.0000000001")), Amount(head("wet"), "water", fr(60)))
    found = told(asked, off_grid=True)
    assert isinstance(found, Impossible)
    assert found.nearly
    assert "exact fractions" in found.agreed


def test_between_two_steps_is_undecided() -> None:
    asked = mud(Share(head("r"), CLAYS, fr("20.0004"), fr("20.0006")))
    found = told(asked, off_grid=True)
    assert isinstance(found, Undecided)
    assert "in whole steps" in found.why


def test_an_assumed_number_proves_nothing_impossible() -> None:
    asked = mud(
        Level(head("thick"), "thickening", fr("1.2")),
        UseRange(head("x"), "xanthan", None, fr(1)),
        UseRange(head("b"), "bentonite", None, fr(0)),
    )
    guess = replace(asked.ingredients["xanthan"], figures={"thickening": figure("1", "", "0.3", "assumed")})
    guessed = replace(asked, ingredients={**asked.ingredients, "xanthan": guess})
    assert search(guessed, limits=Limits()).infeasible
    found = told(guessed)
    assert isinstance(found, Undecided)
    assert [remark.about for remark in found.rests_on] == ["xanthan"]
    known = replace(guess, figures={"thickening": figure("1", "", "0.3")})
    impossible(replace(asked, ingredients={**asked.ingredients, "xanthan": known}))
    far = replace(guess, figures={"thickening": figure("1", "", "0.1", "assumed")})
    assert isinstance(told(replace(asked, ingredients={**asked.ingredients, "xanthan": far})), Impossible)


def test_time_out_is_never_impossible() -> None:
    asked = mud(Share(head("much"), CLAYS, fr(40)), Amount(head("wet"), "water", fr(65)))
    found = search(request(CLAY, NO_STRONG, THICK), limits=Limits(seconds=0.0))
    assert not found.infeasible
    assert isinstance(told(asked), Impossible)


def test_each_member_is_needed() -> None:
    asked = request(CLAY, Cost(head("cheap"), fr("0.7")), THICK, Amount(head("g"), "glycerin", fr(5)))
    found = find_conflict(asked, Limits())
    names = {rule.head.id for rule in found.rules}
    everything = {rule.head.id for rule in asked.rules}
    model = hard_model(asked)
    assert solve(model.without_rules(everything - names)).outcome is Outcome.INFEASIBLE
    for name in sorted(names):
        assert solve(model.without_rules(everything - names | {name})).outcome is Outcome.OPTIMAL


def test_a_new_limit_that_fails_on_the_grid_is_eased() -> None:
    """33.333…% of water's rest: the exact limit lies between two steps."""
    third = Mean(head("solid"), "solids", Fraction(100, 3))
    found = impossible(
        mud(
            third,
            Amount(head("wet"), "water", fr(80)),
            Amount(head("b"), "bentonite", None, fr(0)),
            Amount(head("i"), "illite", None, fr(0)),
            Amount(head("x"), "xanthan", None, fr(0)),
        )
    )
    first = found.concessions[0]
    assert first.proposal is not None
    assert all(v.met for v in first.proposal.verdicts)


@pytest.mark.parametrize("high", ["0.5", "2", "16.66"])
def test_a_ratio_above_one_is_shown_to_two_places(high: str) -> None:
    """Five of glycerin over three tenths of gum is 16.666…"""
    found = impossible(
        mud(
            Ratio(head("ratio"), POLYOL, GUM, None, fr(high)),
            Amount(head("gum"), "xanthan", None, fr("0.3")),
            Amount(head("glycerin"), "glycerin", fr(5)),
        )
    )
    assert cure(found, "ratio").enough == "at most 16.67"


@pytest.mark.parametrize("low", ["0.3334", "0.9", "3", "40"])
def test_a_lower_limit_falls_to_four_places_below_one(low: str) -> None:
    found = impossible(
        mud(
            Ratio(head("ratio"), GUM, POLYOL, fr(low)),
            Amount(head("gum"), "xanthan", None, fr(1)),
            Amount(head("glycerin"), "glycerin", fr(3)),
        )
    )
    assert cure(found, "ratio").enough == "at least 0.3333"
