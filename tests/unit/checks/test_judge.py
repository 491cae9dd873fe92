"""The judge on each kind of rule: met, missed, at worst values, with things not known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.checks.amounts import counted
from optimiser.checks.judge import broken, judge
from optimiser.domain.ingredient import Part
from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Clash,
    Cost,
    Covers,
    Legal,
    Level,
    LineCount,
    Mean,
    Needs,
    Newcomers,
    Ratio,
    Rule,
    Share,
    Stock,
    UseRange,
)
from optimiser.domain.selector import AnyOf, Pick
from tests.points import FREE, at, named, said, wide
from tests.small import INGREDIENTS, fr, head, request

CLAY, GUM, POLYOL = Pick("group", "clay"), Pick("group", "gum"), Pick("group", "polyol")


def verdict(rule: Rule, /, **shares: str | int) -> Verdict:
    asked = wide(rule)
    return said(asked, at(asked, **shares))["test#r"]


def met(rule: Rule, /, **shares: str | int) -> bool:
    return verdict(rule, **shares).met


def test_a_share_at_its_limits() -> None:
    rule = Share(head("r"), CLAY, fr(20), fr(26))
    assert met(rule, kaolin=14, bentonite=6)
    assert met(rule, kaolin=26)
    assert not met(rule, kaolin="19.999")
    assert not met(rule, kaolin="26.001")
    found = verdict(rule, kaolin=25)
    assert (found.value, found.margin, found.unit) == (fr(25), fr(1), "%")


def test_a_share_of_one_phase() -> None:
    rule = Share(head("r"), AnyOf((GUM, CLAY)), None, fr(1), "A")
    assert met(rule, xanthan=1, kaolin=20)
    assert not met(rule, xanthan="1.1")


def test_an_unknown_flag_never_passes() -> None:
    """The mystery clay has no paper on strong clay, so it may be one, and it may be none."""
    strong = Pick("flag", "strong-clay")
    assert not met(Absent(head("r"), strong), mystery=5)
    assert met(Absent(head("r"), strong), kaolin=5)
    assert not met(Absent(head("r"), strong), bentonite=5)
    assert not met(Share(head("r"), strong, None, fr(4)), mystery=5)
    assert not met(Share(head("r"), strong, fr(4)), mystery=5)
    assert "Mystery" in verdict(Absent(head("r"), strong), mystery=5).note


def test_an_unknown_make_up_may_be_anything() -> None:
    limonene = Pick("substance", "Limonene")
    assert not met(Absent(head("r"), limonene), perfume="0.1")
    assert not met(Share(head("r"), limonene, None, fr("0.05")), perfume="0.1")
    assert met(Share(head("r"), limonene, None, fr("0.1")), perfume="0.1")
    assert not met(Share(head("r"), limonene, fr("0.01")), perfume="0.1")


def test_a_substance_is_counted_by_its_part() -> None:
    benzoate = Pick("substance", "SODIUM benzoate")
    assert met(Share(head("r"), benzoate, None, fr("0.45")), blend=1)
    assert not met(Share(head("r"), benzoate, None, fr("0.4499")), blend=1)
    assert met(Share(head("r"), benzoate, fr("0.35")), blend=1)
    assert not met(Share(head("r"), benzoate, fr("0.351")), blend=1)
    assert not met(Absent(head("r"), benzoate), blend="0.01")


def test_a_part_that_may_be_nothing_is_not_absent() -> None:
    asked = wide(Absent(head("r"), Pick("substance", "Nickel")))
    parts = (Part("Illite", fr(100), fr(99), fr(100)), Part("Nickel", fr(0), fr(0), fr("0.1")))
    traced = replace(asked, ingredients=named(asked.ingredients, "illite", composition=parts))
    assert not said(traced, at(traced, illite=5))["test#r"].met


@pytest.mark.parametrize("basis", ["character", "house", "carried"])
def test_character_goes_by_middle_values(basis: str) -> None:
    level = Level(head("r", basis=basis), "thickening", fr("0.2"), fr("0.2"))
    assert met(level, blend=1)
    assert met(Mean(head("r", basis=basis), "solids", None, fr(4)), blend=10)


@pytest.mark.parametrize("basis", ["law", "safety"])
def test_law_and_safety_go_by_worst_values(basis: str) -> None:
    low = Level(head("r", basis=basis), "thickening", fr("0.1"))
    assert met(low, blend=1)
    assert not met(replace(low, low=fr("0.101")), blend=1)
    high = Level(head("r", basis=basis), "thickening", None, fr("0.4"))
    assert met(high, blend=1)
    assert not met(replace(high, high=fr("0.399")), blend=1)
    assert not met(Mean(head("r", basis=basis), "solids", None, fr(4)), blend=10)
    assert met(Mean(head("r", basis=basis), "solids", fr(3), fr(5)), blend=10)


def test_doses_at_the_worst_go_by_the_highest_dose() -> None:
    safe = Level(head("r", basis="safety"), "least_dose_yeast", fr(1))
    assert not met(safe, blend="1.249")
    assert met(safe, blend="1.25")
    assert met(Level(head("r"), "least_dose_yeast", fr(1)), blend=1)


def test_surely_is_as_strict_as_safety() -> None:
    rule = Mean(replace(head("r"), surely=True), "solids", None, fr(4))
    assert not met(rule, blend=10)


def test_a_mean_is_over_the_whole_formula() -> None:
    found = verdict(Mean(head("r"), "solids", fr(19), fr(20)), kaolin=20)
    assert (found.value, found.met) == (fr("19.8"), True)
    assert found.margin == fr("0.2")


def test_a_ratio_is_judged_without_dividing() -> None:
    most = Ratio(head("r"), GUM, POLYOL, None, fr("0.1"))
    assert met(most, xanthan="0.5", glycerin=5)
    assert not met(most, xanthan="0.501", glycerin=5)
    assert met(most, kaolin=5)
    assert not met(most, xanthan="0.1")
    assert verdict(most, xanthan="0.1").value is None
    assert verdict(most, xanthan="0.1").margin is None
    half = verdict(most, xanthan="0.2", glycerin=4)
    assert (half.value, half.margin) == (fr("0.05"), fr("0.05"))
    over = verdict(most, xanthan=1, glycerin=4)
    assert (over.value, over.margin) == (fr("0.25"), fr("-0.15"))
    least = Ratio(head("r"), GUM, POLYOL, fr("0.1"))
    assert met(least, kaolin=5)
    assert met(least, xanthan="0.1")
    assert not met(least, glycerin=5)


def test_a_ratio_counts_what_is_not_known_against_itself() -> None:
    strong = Pick("flag", "strong-clay")
    assert not met(Ratio(head("r"), strong, CLAY, None, fr("0.1")), mystery=5, kaolin=5)
    assert not met(Ratio(head("r"), CLAY, strong, None, fr(10)), mystery=5)
    assert not met(Ratio(head("r"), strong, CLAY, fr("0.1")), mystery=5, kaolin=5)


def test_an_amount_of_what_is_not_there_is_nothing() -> None:
    assert not met(Amount(head("r"), "lanolin", fr(1)), kaolin=5)
    assert met(Amount(head("r"), "lanolin", None, fr(1)), kaolin=5)
    assert met(Amount(head("r"), "kaolin", fr(5), fr(5)), kaolin=5)
    assert not met(Amount(head("r"), "kaolin", None, fr(4)), kaolin=5)


def test_a_use_range_speaks_only_of_what_is_there() -> None:
    rule = UseRange(head("r", basis="house"), "illite", fr(1), fr(40))
    assert met(rule, illite=1)
    assert not met(rule, illite="0.5")
    assert not met(rule, illite=41)
    asked = wide(rule)
    assert "test#r" not in said(asked, at(asked, kaolin=5))


def test_the_law_counts_the_highest_content() -> None:
    members = (("Sodium Benzoate", fr("0.8")), ("Benzoic Acid", fr(1)))
    rule = Legal(head("r", basis="law"), members, fr("0.5"))
    assert met(rule, benzoate="0.625")
    assert not met(rule, benzoate="0.626")
    assert verdict(rule, blend=1).value == fr("0.36")
    assert not met(rule, blend=1, benzoate="0.2")
    assert "Perfume" in verdict(rule, perfume="0.1").note


@pytest.mark.parametrize(("inci", "part"), [("Sodium BENZOATE", "0.45"), ("Benzoic Acid", "1")])
def test_the_law_counts_a_line_as_a_whole_only_where_its_parts_do_not_name_it(inci: str, part: str) -> None:
    members = (("Sodium Benzoate", fr(1)), ("Benzoic Acid", fr(1)))
    asked = wide(Legal(head("r", basis="law"), members, fr(2)))
    asked = replace(asked, ingredients=named(asked.ingredients, "blend", inci=inci))
    assert said(asked, at(asked, blend=1))["test#r"].value == fr(part)


def test_coverage_is_one_preservative_at_its_highest_least_dose() -> None:
    rule = Covers(head("r", basis="safety"), "bacteria", fr("5.5"))
    assert met(rule, phenox="0.8")
    assert not met(rule, phenox="0.799")
    assert not met(rule, phenox="0.4", sorbate="0.15")
    assert met(rule, sorbate="0.3")
    assert verdict(rule, kaolin=5).note == "no preservative that counts"
    assert verdict(rule, sorbate="0.15").margin == fr("-0.5")


@pytest.mark.parametrize(("top", "works"), [("5", True), ("5.001", False), (None, False)])
def test_an_acid_preservative_works_to_the_low_end_of_its_ph(top: str | None, works: bool) -> None:
    rule = Covers(head("r", basis="safety"), "yeast", fr(top) if top else None)
    assert met(rule, blend="1.25") is works


def test_a_neutral_preservative_needs_no_window() -> None:
    assert met(Covers(head("r", basis="safety"), "bacteria", None), phenox="0.8")


def test_acidity_needs_something_to_adjust_with() -> None:
    rule = Acidity(head("r"), fr("4.5"), fr("5.5"))
    assert met(rule, citric="0.1")
    assert not met(rule, kaolin=5)
    assert "no line to adjust with" in verdict(rule, kaolin=5).note


def test_cost_per_kilogram() -> None:
    rule = Cost(head("r"), fr("1.2"))
    assert verdict(rule, kaolin=20).value == fr("1.2")
    assert met(rule, kaolin=20)
    assert not met(rule, kaolin="20.001")


def test_a_missing_price_never_passes() -> None:
    asked = wide(Cost(head("r"), fr(100)))
    unpriced = replace(asked, ingredients=named(asked.ingredients, "illite", pack=None))
    assert not said(unpriced, at(unpriced, illite=5))["test#r"].met
    assert said(unpriced, at(unpriced, kaolin=5))["test#r"].met


def test_counts() -> None:
    assert met(Newcomers(head("r"), 1), illite=5, kaolin=5)
    assert not met(Newcomers(head("r"), 1), illite=5, konjac="0.2")
    assert met(LineCount(head("r"), 3), illite=5, kaolin=5)
    assert not met(LineCount(head("r"), 2), illite=5, kaolin=5)


def test_a_clash_is_two_different_ingredients() -> None:
    rule = Clash(head("r"), Pick("ingredient", "kaolin"), CLAY)
    assert met(rule, kaolin=5)
    assert met(rule, illite=5, bentonite=5)
    assert not met(rule, illite=5, kaolin=5)
    assert verdict(rule, illite=5, kaolin=5).note == "Kaolin with Illite"
    assert verdict(rule, illite=5, kaolin=5, mystery=5).note == "Kaolin with Illite"
    assert verdict(rule, illite=5, kaolin=5, mystery=5).value == 2


def test_a_need_is_called_only_above_its_share() -> None:
    rule = Needs(head("r"), GUM, fr("0.2"), POLYOL, fr(3))
    assert met(rule, xanthan="0.2")
    assert not met(rule, xanthan="0.201")
    assert met(rule, xanthan="0.201", glycerin=3)
    assert not met(rule, xanthan="0.201", glycerin="2.999")


def test_stock_is_what_is_there() -> None:
    rule = Stock(head("r"), {"kaolin": fr(5), "water": fr(100)})
    assert met(rule, kaolin=5)
    assert not met(rule, kaolin="5.001")
    assert not met(rule, illite="0.01")


def test_an_empty_formula_is_judged_too() -> None:
    asked = wide(Stock(head("r"), {}), Share(head("s"), CLAY, fr(1)))
    assert {v.rule.head.id: v.met for v in judge(asked, {})} == {
        "total": False,
        "test#r": True,
        "test#s": False,
    }


@pytest.mark.parametrize(
    ("kaolin", "water", "well"),
    [
        ("20", "80", True),
        ("20.001", "79.999", True),
        ("20.0005", "79.9995", False),
        ("20", "80.001", False),
        ("20", "79.999", False),
        ("-1", "101", False),
    ],
)
def test_the_total_is_exact_and_in_whole_steps(kaolin: str, water: str, well: bool) -> None:
    asked = wide()
    assert said(asked, at(asked, False, kaolin=kaolin, water=water))["total"].met is well


def test_a_third_of_everything_is_no_step() -> None:
    asked = wide()
    thirds = {slot: fr(100) / 3 for slot in asked.slots[:3]}
    assert not said(asked, thirds)["total"].met


def test_verdicts_come_in_order_and_only_musts_break() -> None:
    wish = Share(head("a wish", rank=1), CLAY, fr(50))
    asked = wide(Share(head("z"), CLAY, fr(50)), wish)
    found = judge(asked, at(asked, kaolin=5))
    assert [v.rule.head.id for v in found] == ["total", "test#a wish", "test#z"]
    assert [v.rule.head.id for v in broken(found)] == ["test#z"]


def test_the_base_of_the_small_worktable_passes() -> None:
    asked = request()
    assert broken(judge(asked, asked.base)) == ()


def test_what_a_selector_counts_at_both_ends() -> None:
    everything = {**INGREDIENTS, **FREE}

    def ends(pick: Pick | AnyOf, name: str) -> tuple[str, str]:
        found = counted(pick, everything[name])
        return str(found.surely), str(found.at_most)

    assert ends(Pick("flag", "strong-clay"), "mystery") == ("0", "1")
    assert ends(Pick("kind", "clay"), "kaolin") == ends(Pick("group", "clay"), "kaolin") == ("1", "1")
    assert ends(Pick("group", "clay-plain"), "kaolin") == ("0", "0")
    assert ends(Pick("role", "acid-adjuster"), "citric") == ("1", "1")
    assert ends(AnyOf((Pick("substance", "Aqua"), Pick("kind", "clay"))), "blend") == ("11/20", "13/20")
    assert ends(AnyOf(()), "blend") == ("0", "0")
