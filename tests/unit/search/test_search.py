"""From request to proposals: stages held, wishes by rank, alternatives, the grid."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.judge import broken
from optimiser.domain.formula import Dosed
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import GRID, Request, Slot
from optimiser.domain.rules import (
    Absent,
    Amount,
    Clash,
    Cost,
    Covers,
    Level,
    LineCount,
    Mean,
    Needs,
    Newcomers,
    Rule,
    Share,
    Stock,
    UseRange,
)
from optimiser.domain.selector import Pick
from optimiser.lp.build import build
from optimiser.search.grid import on_grid
from optimiser.search.propose import Search, search
from optimiser.search.stages import Optimum, optimise
from optimiser.solver.interface import Limits
from tests.points import clays, only, wide
from tests.small import CLAY, NO_STRONG, THICK, figure, fr, head, request

CLAYS = Pick("group", "clay")


def find(asked: Request, alternatives: int = 0) -> Search:
    return search(asked, alternatives=alternatives, limits=Limits())


def best(asked: Request) -> Proposal:
    found = find(asked)
    assert found.proposals, found.why
    assert broken(found.proposals[0].verdicts) == ()
    assert sum(line.percent for line in found.proposals[0].lines) == 100
    return found.proposals[0]


def shares(proposal: Proposal) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for line in proposal.lines:
        found[line.ingredient] = found.get(line.ingredient, Fraction(0)) + line.percent
    return found


def stages(proposal: Proposal) -> dict[str, Fraction]:
    return {stage.name: stage.value for stage in proposal.stages}


def mud(*rules: Rule, **base: str) -> Request:
    """Water and clays, with these rules alone and nothing carried."""
    asked = request(formula=clays(**(base or {"kaolin": "20"})))
    return replace(only(asked, ["water", "kaolin", "illite", "bentonite"]), rules=rules, pulls=())


def test_without_a_wish_to_change_nothing_changes() -> None:
    found = best(replace(request(), pulls=()))
    assert shares(found) == {slot.ingredient: share for slot, share in request().base.items()}
    assert stages(found)["departure"] == 0
    assert found.changes == ()


def test_the_cheapest_is_proved() -> None:
    """Of the clays kaolin is the cheapest, and clay dearer than water: the floor of 10 % holds."""
    found = best(replace(mud(Share(head("r"), CLAYS, fr(10))), aim=("cheapest",)))
    assert shares(found) == {"water": 90, "kaolin": 10}
    assert stages(found)["cost"] == fr("0.85")
    cost = next(stage for stage in found.stages if stage.name == "cost")
    assert cost.optimal
    assert abs(cost.value - cost.bound) < fr("0.000001")


def test_each_stage_is_held_for_the_next() -> None:
    """Kaolin or illite would do for the change; the cost decides, and gives nothing of the departure back."""
    asked = mud(NO_STRONG, Share(head("r"), CLAYS, fr(20)), bentonite="20")
    alone = best(replace(asked, aim=("closest",)))
    assert set(shares(alone)) == {"water", "kaolin"}
    dear = replace(
        asked,
        ingredients={
            **asked.ingredients,
            "kaolin": replace(asked.ingredients["kaolin"], pack=asked.ingredients["illite"].pack),
            "illite": replace(asked.ingredients["illite"], pack=asked.ingredients["kaolin"].pack),
        },
    )
    other = best(dear)
    assert set(shares(other)) == {"water", "illite"}
    assert stages(other)["departure"] == stages(alone)["departure"] == 10 + 10 + 1 + 5


def test_held_stages_stay_within_a_millionth() -> None:
    asked = request(NO_STRONG, CLAY, THICK, aim=("cheapest",))
    found = best(asked)
    cost, departure = found.stages
    assert abs(cost.value - cost.bound) < fr("0.00001")
    loose = best(replace(asked, aim=("closest",)))
    assert stages(loose)["departure"] <= departure.value
    assert stages(loose)["cost"] >= cost.value


def test_fewest_changes_moves_the_fewest_lines() -> None:
    found = best(replace(request(NO_STRONG, CLAY, THICK), aim=("fewest-changes",)))
    moved = {change.ingredient for change in found.changes} - {"water"}
    assert stages(found)["lines changed"] == len(moved) == 3
    assert moved == {"bentonite", "kaolin", "xanthan"}


def test_fewest_ingredients() -> None:
    found = best(request(CLAY, aim=("fewest-ingredients",)))
    assert stages(found)["ingredients"] == len(shares(found)) == 4
    assert set(shares(found)) == {"water", "benzoate", "sorbate", "kaolin"}


def test_cash_is_told_of_the_printed_shares() -> None:
    """A kilogram pack each; what is on the shelf costs nothing more."""
    there = {"water": fr(1000), "kaolin": fr(40), "illite": fr(60)}
    asked = replace(mud(Share(head("r"), CLAYS, fr(20))), aim=("shelf-first",), shelf_g=there)
    found = best(asked)
    assert stages(found)["cash to spend now"] == 0
    assert shares(found)["kaolin"] <= 16
    dry = best(replace(asked, shelf_g={"water": fr(1000)}))
    assert stages(dry)["cash to spend now"] == 4


def test_rounding_buys_no_further_pack() -> None:
    """The shelf ends at 20.0006 % of the batch: the nearest step, 20.001 %, would need a new pack."""
    there = {"water": fr(1000), "kaolin": fr("50.0015")}
    asked = replace(mud(kaolin="25"), aim=("shelf-first",), shelf_g=there)
    found = best(asked)
    assert shares(found)["kaolin"] == 20
    assert stages(found)["cash to spend now"] == 0
    more = best(replace(asked, rules=(Amount(head("r"), "kaolin", fr("20.0007")),)))
    assert stages(more)["cash to spend now"] == 4


def test_wishes_are_met_by_rank() -> None:
    """Both want what the other forbids; the first in rank wins, the other is told short."""
    more = Share(head("more", rank=1), CLAYS, fr(30))
    less = Share(head("less", rank=2), CLAYS, None, fr(10))
    for first, second, clay in ((more, less, 30), (less, more, 10)):
        asked = mud(
            replace(first, head=replace(first.head, rank=1)),
            replace(second, head=replace(second.head, rank=2)),
        )
        found = best(asked)
        assert shares(found)["kaolin"] == clay
        assert [v.rule.head.id for v in found.unmet_wishes] == [second.head.id]
        assert found.unmet_wishes[0].margin == -20


def test_wishes_come_before_the_aim() -> None:
    wish = Share(head("wish", rank=1), CLAYS, fr(25))
    found = best(replace(mud(wish), aim=("cheapest",)))
    assert shares(found)["kaolin"] == 25
    assert found.unmet_wishes == ()


def test_a_wish_met_between_the_steps_stays_met_on_them() -> None:
    """0.3 of a level at strength 1.7 is 0.17647 %: the nearest step, 0.176, would miss it."""
    asked = mud(Level(head("wish", rank=1), "strength", fr("0.3")), kaolin="0.1")
    strong = replace(asked.ingredients["kaolin"], figures={"strength": figure("1.7")})
    found = best(replace(asked, ingredients={**asked.ingredients, "kaolin": strong}))
    assert found.unmet_wishes == ()
    assert shares(found)["kaolin"] == fr("0.177")


def test_a_wish_out_of_reach_never_costs_the_formula() -> None:
    found = best(mud(Mean(head("wish", rank=1), "solids", fr(150)), Amount(head("r"), "water", fr("33.333"))))
    assert [v.rule.head.id for v in found.unmet_wishes] == ["test#wish"]


def test_a_wish_that_a_group_is_covered_takes_a_whole_dose_or_none() -> None:
    wish = Covers(head("wish", rank=1), "bacteria", fr("5.5"))
    scarce = Amount(head("scarce"), "sorbate", None, fr("0.2"))
    asked = replace(request(), pulls=())
    rules = tuple(r for r in asked.rules if not isinstance(r, Covers))
    found = best(replace(asked, rules=(*rules, wish)))
    assert found.unmet_wishes == ()
    short = best(replace(asked, rules=(*rules, wish, scarce, Newcomers(head("n"), 0))))
    assert [v.rule.head.id for v in short.unmet_wishes] == ["test#wish"]


def test_a_wish_to_leave_out_is_met_where_it_can_be() -> None:
    found = best(request(replace(NO_STRONG, head=head("wish", rank=1)), CLAY))
    assert "bentonite" not in shares(found)
    kept = Amount(head("kept"), "bentonite", fr(2))
    short = best(request(replace(NO_STRONG, head=head("wish", rank=1)), CLAY, kept))
    assert shares(short)["bentonite"] == 2
    assert [v.rule.head.id for v in short.unmet_wishes] == ["test#wish"]


def test_alternatives_are_headed_by_what_differs() -> None:
    found = find(request(NO_STRONG, CLAY, THICK), 4).proposals
    assert len(found) == 4
    assert all(broken(p.verdicts) == () for p in found)
    own = set(shares(found[0]))
    for one in found[1:]:
        for name in set(shares(one)) ^ own:
            assert request().ingredients[name].name in one.heading


def test_an_alternative_leaves_out_a_newcomer_of_the_first() -> None:
    asked = mud(NO_STRONG, Share(head("r"), CLAYS, fr(20)), bentonite="20")
    first, second = find(asked, 2).proposals
    assert set(shares(first)) - {"water"} == {"kaolin"}
    assert set(shares(second)) - {"water"} == {"illite"}
    assert second.heading == "Alternative with Illite and without Kaolin"


def test_a_line_added_by_reading_stands_at_its_ceiling() -> None:
    asked = mud(Share(head("r"), CLAYS, fr(25)))
    slot = Slot("kaolin", "B")
    held = replace(asked, fixed={slot: fr(20)}, dosed={slot: Dosed("pH 5.0")})
    found = best(held)
    line = next(line for line in found.lines if line.ingredient == "kaolin")
    assert (line.percent, line.dosed) == (fr(20), Dosed("pH 5.0"))
    assert sum(share for name, share in shares(found).items() if name != "water") == 25
    gone = best(replace(held, rules=(Absent(head("r"), Pick("ingredient", "kaolin")),)))
    assert "kaolin" not in shares(gone)


def test_newcomers_are_counted() -> None:
    thick = Level(head("thick"), "thickening", fr("2.5"), fr("3.1"))
    asked = request(NO_STRONG, thick, Absent(head("x"), Pick("ingredient", "xanthan")))
    assert set(shares(best(asked))) & asked.newcomers
    assert find(replace(asked, rules=(*asked.rules, Newcomers(head("n"), 0)))).infeasible


def test_a_least_useful_share_is_all_or_nothing() -> None:
    """Half a per cent is missing and illite is useful from 1 %."""
    asked = mud(
        Amount(head("most"), "kaolin", None, fr(20)),
        Absent(head("x"), Pick("ingredient", "bentonite")),
        Share(head("r"), CLAYS, fr("20.5")),
        UseRange(head("range"), "illite", fr(1), fr(40)),
    )
    found = shares(best(asked))
    assert found["illite"] == 1
    assert found["kaolin"] in (fr("19.5"), 20)


def test_nothing_comes_as_a_trace() -> None:
    asked = mud(Amount(head("most"), "kaolin", None, fr(20)), Share(head("r"), CLAYS, fr("20.002")))
    assert min(share for name, share in shares(best(asked)).items()) >= fr("0.01")


def test_a_clash_of_two_ingredients() -> None:
    clash = Clash(head("clash"), Pick("ingredient", "kaolin"), Pick("ingredient", "bentonite"))
    found = shares(best(request(CLAY, clash)))
    assert not {"kaolin", "bentonite"} <= set(found)


def test_a_clash_of_groups() -> None:
    clash = Clash(head("clash"), Pick("group", "gum"), CLAYS)
    found = shares(best(request(clash)))
    assert not ({"xanthan", "konjac"} & set(found) and {"kaolin", "bentonite", "illite"} & set(found))


def test_a_clash_with_ones_own_group() -> None:
    clash = Clash(head("clash"), Pick("ingredient", "kaolin"), CLAYS)
    found = shares(best(request(CLAY, clash)))
    assert len({"kaolin", "bentonite", "illite", "mystery"} & set(found)) == 1


def test_a_need_brings_what_is_needed() -> None:
    need = Needs(head("need"), CLAYS, fr(10), Pick("ingredient", "illite"), fr(3))
    assert shares(best(mud(need)))["illite"] == 3
    low = Amount(head("low"), "kaolin", None, fr(10))
    assert "illite" not in shares(best(mud(need, low)))


def test_stock_is_not_overdrawn() -> None:
    stock = Stock(head("stock"), {"water": fr(100), "kaolin": fr(12), "illite": fr(50)})
    found = shares(best(mud(stock, Share(head("r"), CLAYS, fr(20)))))
    assert found["kaolin"] <= 12
    assert "bentonite" not in found
    assert find(mud(Stock(head("stock"), {"kaolin": fr(12)}))).infeasible


def test_an_amount_of_something_that_cannot_come_is_impossible() -> None:
    found = find(mud(Amount(head("r"), "lanolin", fr(1))))
    assert found.infeasible
    assert found.proposals == ()


def test_a_window_between_two_steps_has_no_formula_and_no_proof() -> None:
    found = find(mud(Share(head("r"), CLAYS, fr("20.0004"), fr("20.0006"))))
    assert (found.off_grid, found.infeasible, found.proposals) == (True, False, ())


@pytest.mark.parametrize("limit", ["20.0004", "20.0006", "19.999999"])
def test_a_limit_between_two_steps_is_met_on_the_next(limit: str) -> None:
    least = shares(best(mud(Share(head("r"), CLAYS, fr(limit)), kaolin="10")))["kaolin"]
    most = shares(best(mud(Share(head("r"), CLAYS, None, fr(limit)), kaolin="30")))["kaolin"]
    assert least - GRID < fr(limit) <= least
    assert most <= fr(limit) < most + GRID


def test_a_mean_that_only_just_fails_is_drawn_in() -> None:
    third = Mean(head("r"), "solids", Fraction(100, 3))
    found = best(mud(third, kaolin="20"))
    verdict = next(v for v in found.verdicts if v.rule.head.id == "test#r")
    assert verdict.value is not None
    assert Fraction(100, 3) <= verdict.value < Fraction(100, 3) + fr("0.002")


def test_the_grid_survives_negative_nought_and_dust() -> None:
    asked = mud(Amount(head("r"), "kaolin", fr(20), fr(20)))
    values = dict.fromkeys(("y:illite", "y:bentonite"), -0.0)
    values |= {"x:water@B": 80.0, "x:kaolin@B": 20.000000000000004, "x:illite@B": -0.0}
    values |= {"x:bentonite@B": 1e-17, "y:water": 1.0, "y:kaolin": 1.0}
    found = on_grid(asked, Optimum(build(asked), values, ()), Limits())
    assert found == {Slot("water", "B"): fr(80), Slot("kaolin", "B"): fr(20)}


def test_two_identical_runs_are_the_same() -> None:
    asked = request(NO_STRONG, CLAY, THICK)
    assert find(asked, 3) == find(asked, 3)


def test_the_bound_is_not_above_the_value() -> None:
    made = optimise(request(NO_STRONG, CLAY, THICK), Limits())
    assert isinstance(made, Optimum)
    for stage in made.stages:
        assert stage.optimal
        assert stage.bound <= stage.value + 1e-6


def test_a_price_cap_is_kept() -> None:
    found = best(wide(Cost(head("r"), fr("1.1")), CLAY, LineCount(head("n"), 6)))
    assert found.cost_per_kg is not None
    assert found.cost_per_kg <= fr("1.1")
    assert len(shares(found)) <= 6
