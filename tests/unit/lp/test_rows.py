"""The rows of each kind of rule: coefficients, sides, slacks."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

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
from optimiser.lp.build import build
from optimiser.model.rows import Row
from optimiser.solver.interface import Outcome
from optimiser.solver.solving import solve
from tests.points import named, rows_of, wide
from tests.small import figure, fr, head, request

ONE = Fraction(1)
CLAYS = ("bentonite", "illite", "kaolin", "mystery")


def rows(rule: Rule, *, lenient: bool = False) -> dict[str, Row]:
    return rows_of(build(wide(rule), lenient=lenient), rule.head.id)


def test_a_share_has_a_row_for_each_side() -> None:
    found = rows(Share(head("r"), Pick("group", "clay"), fr(20), fr(26)))
    assert found["least"].coef == found["most"].coef == tuple((f"x:{i}@B", ONE) for i in CLAYS)
    assert (found["least"].lower, found["least"].upper) == (fr(20), None)
    assert (found["most"].lower, found["most"].upper) == (None, fr(26))
    assert set(rows(Share(head("r"), Pick("group", "clay"), None, fr(26)))) == {"most"}


def test_a_share_in_one_phase_counts_that_phase() -> None:
    assert rows(Share(head("r"), Pick("group", "gum"), fr(1), None, "B"))["least"].coef == ()
    in_a = rows(Share(head("r"), Pick("group", "gum"), fr(1), None, "A"))["least"].coef
    assert in_a == (("x:konjac@A", ONE), ("x:xanthan@A", ONE))


def test_what_is_not_known_counts_against_both_sides() -> None:
    flagged = rows(Share(head("r"), Pick("flag", "strong-clay"), fr(1), fr(5)))
    assert dict(flagged["least"].coef) == {"x:bentonite@B": ONE}
    unknown = {"x:mystery@B", *(f"x:{i}@B" for i in ("blend", "citric", "perfume", "phenox"))}
    assert set(dict(flagged["most"].coef)) == {"x:bentonite@B", *unknown}
    part = rows(Share(head("r"), Pick("substance", "sodium benzoate"), fr(1), fr(5)))
    assert dict(part["least"].coef) == {"x:benzoate@B": ONE, "x:blend@B": fr("0.35")}
    assert dict(part["most"].coef) == {"x:benzoate@B": ONE, "x:blend@B": fr("0.45"), "x:perfume@B": ONE}


def test_any_of_counts_an_ingredient_once() -> None:
    both = AnyOf((Pick("group", "gum"), Pick("role", "viscosity-controlling")))
    assert dict(rows(Share(head("r"), both, fr(1)))["least"].coef) == {
        "x:bentonite@B": ONE,
        "x:konjac@A": ONE,
        "x:xanthan@A": ONE,
    }


def test_a_level_weighs_by_strength() -> None:
    found = rows(Level(head("r"), "thickening", fr("0.6"), fr("0.8")))["most"]
    assert dict(found.coef) == {
        "x:bentonite@B": fr("0.05"),
        "x:blend@B": fr("0.2"),
        "x:konjac@A": fr(3),
        "x:xanthan@A": ONE,
    }


@pytest.mark.parametrize(("basis", "least", "most"), [("character", "0.2", "0.2"), ("safety", "0.1", "0.4")])
def test_a_level_takes_worst_values_where_safety_rests_on_it(basis: str, least: str, most: str) -> None:
    found = rows(Level(head("r", basis=basis), "thickening", fr(1), fr(2)))
    assert dict(found["least"].coef)["x:blend@B"] == fr(least)
    assert dict(found["most"].coef)["x:blend@B"] == fr(most)


def test_surely_takes_worst_values_too() -> None:
    rule = Mean(replace(head("r"), surely=True), "solids", fr(1), fr(2))
    assert dict(rows(rule)["least"].coef)["x:blend@B"] == 30
    assert dict(rows(rule)["most"].coef)["x:blend@B"] == 50


def test_a_level_of_doses_counts_the_highest_dose_at_the_worst() -> None:
    found = rows(Level(head("r", basis="safety"), "least_dose_yeast", fr(1), fr(9)))
    assert dict(found["least"].coef)["x:blend@B"] == fr("0.8")
    assert dict(found["most"].coef)["x:blend@B"] == fr("1.25")


def test_a_mean_is_a_row_over_a_hundred_grams() -> None:
    found = rows(Mean(head("r"), "solids", fr(20), fr(30)))
    assert found["least"].lower == 2000
    assert found["most"].upper == 3000
    assert dict(found["most"].coef)["x:kaolin@B"] == 99


def test_a_ratio_is_multiplied_out() -> None:
    found = rows(Ratio(head("r"), Pick("group", "gum"), Pick("group", "polyol"), fr("0.05"), fr("0.1")))
    gums = {"x:konjac@A": ONE, "x:xanthan@A": ONE}
    assert dict(found["least"].coef) == {**gums, "x:glycerin@A": -fr("0.05")}
    assert dict(found["most"].coef) == {**gums, "x:glycerin@A": -fr("0.1")}
    assert (found["least"].lower, found["most"].upper) == (fr(0), fr(0))


def test_a_ratio_counts_what_is_not_known_against_itself() -> None:
    strong, sure = Pick("flag", "strong-clay"), {"x:bentonite@B"}
    may_be = {"x:mystery@B", *(f"x:{i}@B" for i in ("bentonite", "blend", "citric", "perfume", "phenox"))}
    below = rows(Ratio(head("r"), Pick("group", "gum"), strong, fr("0.5"), fr(2)))
    assert {name for name, value in below["least"].coef if value < 0} == may_be
    assert {name for name, value in below["most"].coef if value < 0} == sure
    above = rows(Ratio(head("r"), strong, Pick("group", "gum"), fr("0.5"), fr(2)))
    assert {name for name, value in above["least"].coef if value > 0} == sure
    assert {name for name, value in above["most"].coef if value > 0} == may_be


def test_absent_counts_the_whole_of_what_may_match() -> None:
    found = rows(Absent(head("r"), Pick("substance", "Sodium Benzoate")))["none"]
    assert dict(found.coef) == {"x:benzoate@B": ONE, "x:blend@B": ONE, "x:perfume@B": ONE}
    assert found.upper == 0
    assert rows(Absent(head("r"), Pick("kind", "wax"))) == {}


def test_an_amount_of_something_without_a_line_is_impossible_not_dropped() -> None:
    found = rows(Amount(head("r"), "lanolin", fr(1)))["least"]
    assert (found.coef, found.lower) == ((), ONE)
    assert solve(build(wide(Amount(head("r"), "lanolin", fr(1))))).outcome is Outcome.INFEASIBLE
    assert solve(build(wide(Amount(head("r"), "lanolin", None, fr(1))))).outcome is Outcome.OPTIMAL


def test_a_use_range_holds_when_the_ingredient_is_used() -> None:
    found = rows(UseRange(head("r"), "illite", fr(1), fr(40)))
    assert dict(found["least"].coef) == {"x:illite@B": ONE, "y:illite": -ONE}
    assert dict(found["most"].coef) == {"x:illite@B": ONE, "y:illite": -fr(40)}
    assert rows(UseRange(head("r"), "lanolin", fr(1), fr(40))) == {}


def test_the_law_counts_the_highest_content_by_its_factor() -> None:
    members = (("Sodium Benzoate", fr("0.84746")), ("Benzoic Acid", ONE))
    found = rows(Legal(head("r", basis="law"), members, fr("0.5")))["most"]
    assert dict(found.coef) == {"x:benzoate@B": fr("0.84746"), "x:blend@B": fr("0.84746") * fr("0.45")}
    assert found.upper == fr("0.5")


@pytest.mark.parametrize(("inci", "part"), [("Sodium BENZOATE", "0.45"), ("Benzoic Acid", "1")])
def test_the_law_counts_a_line_as_a_whole_only_where_its_parts_do_not_name_it(inci: str, part: str) -> None:
    members = (("Sodium Benzoate", ONE), ("Benzoic Acid", ONE))
    asked = wide(Legal(head("r", basis="law"), members, fr("0.5")))
    asked = replace(asked, ingredients=named(asked.ingredients, "blend", inci=inci))
    assert dict(rows_of(build(asked), "test#r")["most"].coef)["x:blend@B"] == fr(part)


def test_coverage_asks_for_one_whole_dose() -> None:
    found = rows(Covers(head("r", basis="safety"), "bacteria", fr("5.5")))
    assert dict(found["phenox"].coef) == {"x:phenox@B": ONE, "c:bacteria:phenox": -fr("0.8")}
    assert dict(found["sorbate"].coef) == {"x:sorbate@B": ONE, "c:bacteria:sorbate": -fr("0.3")}
    assert dict(found["one"].coef) == {"c:bacteria:phenox": ONE, "c:bacteria:sorbate": ONE}
    assert found["one"].lower == 1


def test_an_acid_preservative_counts_only_where_the_ph_lets_it_work() -> None:
    """The blend works up to 5.0 at the worst, benzoate up to 5.5; without a window neither counts."""
    counting = {
        top: set(dict(rows(Covers(head("r"), "yeast", top))["one"].coef))
        for top in (fr(5), fr("5.01"), fr("5.5"), fr("5.6"), None)
    }
    assert counting[fr(5)] == {"c:yeast:benzoate", "c:yeast:blend"}
    assert counting[fr("5.01")] == counting[fr("5.5")] == {"c:yeast:benzoate"}
    assert counting[fr("5.6")] == counting[None] == set()


def test_a_least_dose_of_nothing_is_no_dose() -> None:
    asked = wide(Covers(head("r"), "bacteria", None))
    made = named(asked.ingredients, "phenox", figures={"least_dose_bacteria": figure("0")})
    assert solve(build(replace(asked, ingredients=made))).outcome is Outcome.INFEASIBLE


def test_acidity_asks_for_something_to_adjust_with() -> None:
    assert dict(rows(Acidity(head("r"), fr("4.5"), fr("5.5")))["adjuster"].coef) == {"y:citric": ONE}
    assert solve(build(request(Acidity(head("r"), fr(4), fr(5))))).outcome is Outcome.INFEASIBLE


def test_cost_counts() -> None:
    found = rows(Cost(head("r"), fr(2)))["most"]
    assert dict(found.coef)["x:xanthan@A"] == 20
    assert found.upper == 200
    new = rows(Newcomers(head("r"), 2))["most"]
    assert set(dict(new.coef)) == {
        f"y:{i}" for i in ("blend", "citric", "illite", "konjac", "mystery", "perfume", "phenox")
    }
    assert new.upper == 2
    assert len(rows(LineCount(head("r"), 9))["most"].coef) == 14


def test_a_clash_of_two_is_one_row() -> None:
    found = rows(Clash(head("r"), Pick("ingredient", "kaolin"), Pick("ingredient", "phenox")))
    assert [dict(row.coef) for row in found.values()] == [{"y:kaolin": ONE, "y:phenox": ONE}]
    assert [row.upper for row in found.values()] == [1]


def test_a_clash_of_groups_gives_one_side_the_place() -> None:
    found = rows(Clash(head("r"), Pick("group", "clay"), Pick("group", "gum")))
    assert set(found) == {*CLAYS, "konjac", "xanthan"}
    assert dict(found["kaolin"].coef) == {"y:kaolin": ONE, "s:test#r": -ONE}
    assert (dict(found["konjac"].coef), found["konjac"].upper) == ({"y:konjac": ONE, "s:test#r": ONE}, ONE)


def test_what_stands_on_both_sides_of_a_clash_stands_alone() -> None:
    found = rows(Clash(head("r"), Pick("ingredient", "kaolin"), Pick("group", "clay")))
    pairs = sorted(tuple(sorted(dict(row.coef))) for row in found.values())
    assert pairs == [("y:bentonite", "y:kaolin"), ("y:illite", "y:kaolin"), ("y:kaolin", "y:mystery")]
    among = rows(Clash(head("r"), Pick("group", "gum"), AnyOf((Pick("group", "gum"),))))
    assert [dict(row.coef) for row in among.values()] == [{"y:konjac": ONE, "y:xanthan": ONE}]
    alone = Pick("ingredient", "kaolin")
    assert rows(Clash(head("r"), alone, alone)) == {}


def test_a_need_is_called_above_its_share() -> None:
    found = rows(Needs(head("r"), Pick("group", "gum"), fr("0.2"), Pick("group", "polyol"), fr(3)))
    assert dict(found["called"].coef)["s:test#r"] == -100
    assert found["called"].upper == fr("0.2")
    assert dict(found["served"].coef) == {"x:glycerin@A": ONE, "s:test#r": -fr(3)}
    unsure = rows(Needs(head("r"), Pick("flag", "strong-clay"), fr(1), Pick("flag", "strong-clay"), fr(3)))
    assert "x:mystery@B" in dict(unsure["called"].coef)
    assert "x:mystery@B" not in dict(unsure["served"].coef)
    assert rows(Needs(head("r"), Pick("kind", "wax"), fr(0), Pick("group", "polyol"), fr(3))) == {}


def test_stock_caps_every_ingredient() -> None:
    found = rows(Stock(head("r"), {"kaolin": fr(12)}))
    assert {i: row.upper for i, row in found.items() if row.upper} == {"kaolin": 12}
    assert len(found) == 14


def test_the_total_and_the_least_line_are_physics() -> None:
    made = rows_of(build(wide()), "physics")
    assert (made["total"].lower, made["total"].upper) == (fr(100), fr(100))
    assert dict(made["no-trace:illite"].coef) == {"x:illite@B": ONE, "y:illite": -fr("0.01")}
    assert dict(made["there:illite"].coef) == {"x:illite@B": ONE, "y:illite": -fr(100)}


def test_a_base_line_below_the_trace_may_stay_as_small_as_it_is() -> None:
    asked = wide()
    slot = next(s for s in asked.slots if s.ingredient == "sorbate")
    small = replace(asked, base={**asked.base, slot: fr("0.004")})
    assert dict(rows_of(build(small), "physics")["no-trace:sorbate"].coef)["y:sorbate"] == -fr("0.004")


def test_a_line_added_by_reading_stands_at_its_ceiling_or_goes() -> None:
    asked = request()
    slot = next(s for s in asked.slots if s.ingredient == "glycerin")
    made = rows_of(build(replace(asked, fixed={slot: fr(3)})), "physics")["ceiling:glycerin@A"]
    assert dict(made.coef) == {"x:glycerin@A": ONE, "h:glycerin@A": -fr(3)}
    assert (made.lower, made.upper) == (fr(0), fr(0))


def test_an_assumed_number_is_taken_at_its_kinder_end_for_a_proof() -> None:
    rule = Level(head("r", basis="safety"), "thickening", fr(1), fr(2))
    asked = wide(rule)
    made = named(asked.ingredients, "konjac", figures={"thickening": figure("3", "", "0.5", "assumed")})
    kind = rows_of(build(replace(asked, ingredients=made), lenient=True), "test#r")
    plain = rows_of(build(replace(asked, ingredients=made)), "test#r")
    assert dict(kind["least"].coef)["x:konjac@A"] == dict(plain["most"].coef)["x:konjac@A"] == fr("4.5")
    assert dict(kind["most"].coef)["x:konjac@A"] == dict(plain["least"].coef)["x:konjac@A"] == fr("1.5")


def test_a_rule_left_out_leaves_no_row() -> None:
    rule = Share(head("r"), Pick("group", "clay"), fr(20))
    assert rows_of(build(wide(rule), without=["test#r"]), "test#r") == {}


def slacks(rule: Rule) -> dict[str, tuple[str, Fraction]]:
    """By row: its slack and that slack's coefficient."""
    made = rows_of(build(wide(rule)), rule.head.id)
    return {where: pair for where, row in made.items() for pair in row.coef if pair[0].startswith("w:")}


def test_a_wish_may_miss_each_side_in_the_unit_of_its_limit() -> None:
    assert slacks(Mean(head("r", rank=1), "solids", fr(20), fr(30))) == {
        "least": ("w:test#r:least", fr(100)),
        "most": ("w:test#r:most", fr(-100)),
    }
    assert slacks(Absent(head("r", rank=1), Pick("group", "gum"))) == {"none": ("w:test#r:none", -ONE)}
    assert slacks(Newcomers(head("r", rank=1), 2)) == {"most": ("w:test#r:most", -ONE)}
    assert slacks(Share(head("r"), Pick("group", "gum"), fr(1))) == {}


def test_half_a_dose_covers_nothing() -> None:
    assert slacks(Covers(head("r", rank=1), "bacteria", fr("5.5"))) == {"one": ("w:test#r:one", ONE)}
    need = Needs(head("r", rank=1), Pick("group", "gum"), fr(0), Pick("group", "polyol"), fr(3))
    assert slacks(need) == {"served": ("w:test#r:served", ONE)}
