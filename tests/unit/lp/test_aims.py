"""What each stage makes small."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.brief import Aim
from optimiser.domain.request import Pull, Slot, Weights
from optimiser.domain.rules import Acidity, Covers, Mean, Ratio, Share
from optimiser.domain.selector import Pick
from optimiser.lp.aims import Objective, objectives, step_of, tie_break, wish_cost
from optimiser.lp.build import build
from optimiser.search.telling import departure
from tests.points import at, only, wide
from tests.small import CLAY, THICK, fr, head, request

WATER, KAOLIN, BENZOATE = Slot("water", "B"), Slot("kaolin", "B"), Slot("benzoate", "B")


def stage(name: str, aim: Aim = "closest", **changed: object) -> Objective:
    asked = replace(wide(), aim=(aim,), **changed)  # type: ignore[arg-type]
    return next(o for o in objectives(asked) if o.name == name)


@pytest.mark.parametrize(
    ("aims", "names"),
    [
        (("closest",), ["departure", "cost", "tie"]),
        (("cheapest",), ["cost", "departure", "tie"]),
        (("fewest-changes",), ["lines changed", "departure", "cost", "tie"]),
        (("fewest-ingredients", "cheapest"), ["ingredients", "departure", "cost", "tie"]),
        (("shelf-first",), ["cash to spend now", "departure", "cost", "tie"]),
    ],
)
def test_stages_in_order_each_once(aims: tuple[Aim, ...], names: list[str]) -> None:
    assert [o.name for o in objectives(request(aim=aims))] == names


def test_wishes_come_first_by_rank() -> None:
    asked = request(replace(CLAY, head=head("b", rank=3)), replace(THICK, head=head("a", rank=1)))
    assert [o.name for o in objectives(asked)][:3] == ["wishes of rank 1", "wishes of rank 3", "departure"]


def test_departure_weighs_points_parts_measures_and_newcomers() -> None:
    made = stage("departure")
    assert made.cost["up:water@B"] == made.cost["down:water@B"] == fr("0.5")
    assert made.cost["up:kaolin@B"] == fr("0.5") + Fraction(1, 16)
    assert made.cost["down:benzoate@B"] == fr("0.5") + 1 / fr("0.45")
    assert made.cost["x:illite@B"] == fr("0.5")
    assert made.cost["y:illite"] == 5
    assert made.cost["off:share of clay"] == 2 / fr("2.2")
    assert "y:kaolin" not in made.cost
    assert {v.name: v.upper for v in made.vars}["down:kaolin@B"] == 16


def test_another_strength_of_what_is_there_is_a_line_and_no_newcomer() -> None:
    made = stage("departure", newcomers=frozenset({"konjac"}), weights=Weights(newcomer=fr(7), line=fr(2)))
    assert (made.cost["y:konjac"], made.cost["y:illite"]) == (fr(7), fr(2))


def test_a_fixed_line_has_no_parts() -> None:
    assert stage("departure", fixed={BENZOATE: fr("0.45")}).cost["up:benzoate@B"] == fr("0.5")


def test_a_pull_counts_what_surely_counts_as_the_printed_departure_does() -> None:
    flagged = Pull("strong", Share(head("p"), Pick("flag", "strong-clay")), fr(6), fr(1))
    rows = {row.name: row for row in stage("departure", pulls=(flagged,)).rows}
    assert dict(rows["aim:above:strong"].coef) == {"x:bentonite@B": 1, "off:strong": -1}
    assert rows["aim:above:strong"].upper == rows["aim:below:strong"].lower == 6


def test_a_pull_on_a_mean_is_in_the_unit_of_the_mean() -> None:
    pull = Pull("solids", Mean(head("p"), "solids"), fr(22), fr(2))
    rows = {row.name: row for row in stage("departure", pulls=(pull,)).rows}
    assert dict(rows["aim:above:solids"].coef)["x:kaolin@B"] == fr("0.99")


def test_the_objective_is_the_departure_that_is_printed() -> None:
    asked = wide()
    shares = at(asked, kaolin=12, illite=8, konjac="0.2", glycerin=5, benzoate="0.45", sorbate="0.3")
    made = next(o for o in objectives(asked) if o.name == "departure")
    values = {f"x:{s}": shares.get(s, Fraction(0)) for s in asked.slots}
    for slot, base in asked.base.items():
        moved = values[f"x:{slot}"] - base
        values |= {f"up:{slot}": max(moved, Fraction(0)), f"down:{slot}": max(-moved, Fraction(0))}
    values |= {f"y:{s.ingredient}": Fraction(int(bool(shares.get(s)))) for s in asked.slots}
    for pull in asked.pulls:
        row = next(r for r in made.rows if r.name == f"aim:above:{pull.name}")
        measure = sum(c * values[n] for n, c in row.coef if n.startswith("x:"))
        values[f"off:{pull.name}"] = abs(measure - pull.target)
    printed = departure(asked, shares)
    assert sum(c * values[n] for n, c in made.cost.items()) == sum(part for _, part in printed)
    assert dict(printed)["newcomers"] == 10


def test_cost_is_per_kilogram() -> None:
    made = stage("cost", "cheapest")
    assert made.cost["x:kaolin@B"] == fr("0.04")
    assert made.unit == "EUR/kg"


def test_lines_changed_counts_neither_filler_nor_dosed_lines() -> None:
    made = stage("lines changed", "fewest-changes", fixed={BENZOATE: fr("0.45")})
    assert made.whole
    assert made.cost["d:kaolin@B"] == made.cost["y:illite"] == 1
    assert not {"d:water@B", "d:benzoate@B"} & set(made.cost)
    rows = {row.name: row for row in made.rows}
    assert dict(rows["aim:more:kaolin@B"].coef) == {"x:kaolin@B": 1, "d:kaolin@B": -84}
    assert dict(rows["aim:less:kaolin@B"].coef) == {"x:kaolin@B": 1, "d:kaolin@B": 16}


def test_cash_counts_whole_packs_beyond_the_shelf() -> None:
    made = stage("cash to spend now", "shelf-first", shelf_g={"kaolin": fr(30)})
    rows = {row.name: row for row in made.rows}
    assert rows["aim:buy:kaolin"].upper == 12
    assert dict(rows["aim:buy:kaolin"].coef) == {"x:kaolin@B": 1, "p:kaolin": -400}
    assert made.cost["p:kaolin"] == 4
    assert rows["aim:buy:illite"].upper == 0


def test_the_tie_goes_to_the_earlier_id_whatever_the_order() -> None:
    asked = only(request(), ["water", "kaolin", "illite"])
    made = tie_break(asked).cost
    assert made["x:illite@B"] < made["x:kaolin@B"] < made["x:water@B"]
    assert tie_break(replace(asked, slots=asked.slots[::-1])).cost == made
    assert [round(float(weight) ** 2, 5) for weight in sorted(made.values())] == [1, 2, 3]


def test_a_step_is_a_hundredth_of_the_limit_or_one_whole() -> None:
    assert step_of(CLAY) == fr("0.26")
    tiny = Pick("ingredient", "kaolin")
    assert step_of(Share(head("s"), tiny, fr("0.0001"))) == step_of(
        Share(head("s"), tiny, fr("0.000000000001"))
    )
    assert step_of(Share(head("s"), tiny, fr("0.0001"))) == fr("0.00001")
    assert step_of(Covers(head("c"), "yeast", None)) == 1
    assert step_of(Acidity(head("a"), fr(4), fr(5))) == fr("0.05")
    assert step_of(Ratio(head("r"), Pick("group", "gum"), Pick("group", "polyol"), None, fr("0.1"))) == fr(
        "0.001"
    )


def test_a_wish_pays_for_its_own_slacks_alone() -> None:
    """A name may go on where another ends."""
    clay = Share(head("clay", rank=1), Pick("group", "clay"), fr(20))
    more = Share(head("clay:more", rank=2), Pick("group", "clay"), fr(50))
    asked = wide(clay, more)
    assert wish_cost(asked, build(asked), 1) == {"w:test#clay:least": 5}
    assert wish_cost(asked, build(asked), 2) == {"w:test#clay:more:least": 2}
