"""Whole packs at the least money, lots in the order they expire, and what a jar comes to."""

from __future__ import annotations

import itertools
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.domain.costs import Costs, Jar, Labour, Offer, PackPart
from optimiser.domain.worktable import Lot
from optimiser.errors import DataError, UsageError
from optimiser.export.buying import basket_csv, basket_dict
from optimiser.search.buying import buy
from optimiser.search.stock import draw, in_date
from optimiser.solver.interface import Limits
from optimiser.units.quantities import read_minutes, read_money
from optimiser.workflows.buy import jar_cost, reckon, shopping
from tests.cli.line import here
from tests.ranges import small_table
from tests.workflows.desk import DEMO, FLAGSHIP, F, changed, copied, demo, table_in

DAY = date(2026, 11, 1)


def lot(name: str, number: str, grams: int, expires: date | None) -> Lot:
    return Lot(name, number, F(grams), None, None, expires)


def test_the_first_to_expire_is_the_first_to_be_used_and_what_is_out_of_date_never() -> None:
    lots = [
        lot("clay", "late", 100, date(2028, 1, 1)),
        lot("clay", "soon", 30, date(2026, 12, 1)),
        lot("clay", "gone", 500, date(2026, 10, 31)),
        lot("clay", "undated", 50, None),
    ]
    drawn = draw(lots, {"clay": F(150)}, DAY)
    assert [(one.lot.lot, one.grams) for one in drawn.taken["clay"]] == [
        ("soon", F(30)),
        ("late", F(100)),
        ("undated", F(20)),
    ]
    assert not drawn.missing
    assert draw(lots, {"clay": F(200)}, DAY).missing == {"clay": F(20)}
    first = drawn.first_to_expire
    assert first is not None
    assert first.lot == "soon"


@st.composite
def shops(draw_one: st.DrawFn) -> tuple[dict[str, F], list[Offer], F]:
    names = ["a", "b"][: draw_one(st.integers(1, 2))]
    offers = [
        Offer(
            draw_one(st.sampled_from(names)),
            F(draw_one(st.integers(1, 9)) * 100),
            F(draw_one(st.integers(1, 40)), 4),
            draw_one(st.integers(1, 3)),
            draw_one(st.sampled_from(["one", "two"])),
        )
        for _ in range(draw_one(st.integers(1, 4)))
    ]
    missing = {name: F(draw_one(st.integers(1, 12)) * 100) for name in names}
    return missing, offers, F(draw_one(st.integers(0, 20)), 4)


@settings(max_examples=40, deadline=None)
@given(shops())
def test_no_basket_of_whole_packs_is_cheaper(case: tuple[dict[str, F], list[Offer], F]) -> None:
    missing, offers, post = case
    sold = {offer.ingredient for offer in offers}
    basket = buy(missing, offers, post, Limits())
    assert basket.not_offered == tuple(sorted(set(missing) - sold))
    counts = [range(int(-(-missing[o.ingredient] // o.grams)) + o.at_least + 1) for o in offers]
    best = None
    for packs in itertools.product(*counts):
        if any(0 < n < o.at_least for n, o in zip(packs, offers, strict=True)):
            continue
        grams = {name: F(0) for name in missing}
        for n, o in zip(packs, offers, strict=True):
            grams[o.ingredient] += n * o.grams
        if any(grams[name] < missing[name] for name in missing if name in sold):
            continue
        traders = {o.supplier for n, o in zip(packs, offers, strict=True) if n}
        price = sum((n * o.price for n, o in zip(packs, offers, strict=True)), F(0)) + post * len(traders)
        best = price if best is None else min(best, price)
    assert basket.proved
    assert basket.total == (best or 0)
    for name in set(missing) & sold:
        assert sum(b.grams for b in basket.packs if b.offer.ingredient == name) >= missing[name]


def test_a_bigger_pack_is_taken_when_it_is_cheaper_in_all() -> None:
    small, big = Offer("clay", F(1000), F(6)), Offer("clay", F(5000), F(20))
    assert buy({"clay": F(3000)}, [small, big], F(0), Limits()).total == 18
    assert buy({"clay": F(3500)}, [small, big], F(0), Limits()).packs[0].offer == big
    broken = Offer("clay", F(1000), F(4), at_least=4)
    assert buy({"clay": F(3500)}, [small, broken], F(0), Limits()).total == 16
    assert buy({"clay": F(1500)}, [small, broken], F(0), Limits()).total == 12


def test_what_the_shelf_holds_is_not_bought(tmp_path: Path) -> None:
    found = shopping(demo(), (FLAGSHIP,), 1)
    assert {one.ingredient for one in found.needs if one.missing} == {
        b.offer.ingredient for b in found.basket.packs
    }
    for need in found.needs:
        taken = sum((one.grams for one in found.drawn.taken[need.ingredient]), F(0))
        assert taken == need.on_shelf == need.needed - need.missing
        lots = (lot for lot in demo().worktable.shelf if lot.ingredient == need.ingredient)
        assert need.stock == sum((lot.grams for lot in in_date(lots, found.day)), F(0)) >= taken
    assert any(need.stock > need.needed for need in found.needs)
    later = shopping(demo(), (FLAGSHIP,), 1, day=date(2035, 1, 1))
    assert sum(one.missing for one in later.needs) > sum(one.missing for one in found.needs)
    assert sum(one.stock for one in later.needs) < sum(one.stock for one in found.needs)
    told = basket_dict(found.basket, "EUR")
    assert told["proved"] is True
    assert len(basket_csv(found.basket, found.names, "EUR").splitlines()) == len(found.basket.packs) + 1


def test_a_jar_by_hand() -> None:
    costs = Costs(
        Jar(F(100), F(2), (PackPart("jar", F("0.60")),), F(11)),
        Labour(F(18), F(60), F(2)),
        waste=F("0.04"),
    )
    jar = jar_cost(costs, F(5), F(2000))
    assert jar.jars == 18
    assert jar.left_g == 1920 - 18 * 102
    assert (jar.holds_g, jar.filled_g, jar.in_pots_g) == (F(100), F(102), F(80))
    assert jar.per_jar == Fraction(10, 18) + F("0.6") + F(18) / 60 * (Fraction(60, 18) + 2)
    assert jar.margin == 11 - jar.per_jar
    with pytest.raises(UsageError, match="fills no jar"):
        jar_cost(costs, F(5), F(90))
    with pytest.raises(UsageError, match="nothing of a jar"):
        jar_cost(Costs(), F(5), F(900))


def test_a_jar_is_told_with_its_size_and_where_the_batch_went(capsys: pytest.CaptureFixture[str]) -> None:
    out = here(capsys, "cost", "rose-serum", "-w", str(DEMO), "--batch", "250 g").out
    assert "A jar of 100 g, 2 from 250 g" in out
    assert "2 × 102 g in jars, 10 g stay in pots, 36 g fill no jar." in out


def test_the_money_of_the_lines_adds_up_to_the_cost() -> None:
    found = reckon(demo(), FLAGSHIP, "2 kg")
    assert sum(money for _, _, money in found.lines) == found.cost_per_kg
    assert found.jar is not None
    assert found.jar.per_jar > found.cost_per_kg / 10


def test_faults_of_the_costs_come_with_file_and_line(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    changed(
        folder,
        "costs.yaml",
        lambda text: (
            text.replace("waste: 4 %", "waste: 140 %")
            .replace("55 min", "55 apples")
            .replace("11.50 EUR", "11.50 USD")
            .replace("ingredient: kaolin", "ingredient: kaolim")
            .replace("from: 5", "from: 2.5")
        ),
    )
    with pytest.raises(AssertionError) as fault:
        table_in(folder)
    said = str(fault.value)
    for words in ("costs.yaml:10", "costs.yaml:9", "costs.yaml:8", "kaolim", "whole number of packs"):
        assert words in said
    assert isinstance(fault.value.__cause__, DataError)


def test_money_and_time_as_people_write_them() -> None:
    assert read_money("9.50 EUR", "point", "EUR") == F("9.5")
    assert read_money("€ 9,50", "comma", "EUR") == F("9.5")
    assert read_money("9", "point", "GBP") == 9
    for text in ("9.50 USD", "nine", "-1 EUR", "", "NaN EUR"):
        assert not isinstance(read_money(text, "point", "EUR"), Fraction)
    assert read_minutes("1.5 h", "point") == 90
    for text in ("5", "5 days", "-5 min", ""):
        assert not isinstance(read_minutes(text, "point"), Fraction)


def test_the_lots_are_told_with_the_day_they_are_counted_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("buy", "polish", "-w", str(small_table(tmp_path / "small")))
    lines = [line.strip() for line in here(capsys, *words).out.splitlines()]
    counted = "in date on 2026-11-01 (the rules_date of worktable.yaml) count, the first to expire first."
    assert f"Of the shelf, lots {counted}" in lines
    title = (
        "Use these lots first (as on 2026-11-01, the rules_date of worktable.yaml; --on asks for another day)"
    )
    assert lines[lines.index(title) + 1].startswith("Field oil: L1 196.0 g (to 2028-01-01)")
    asked = [line.strip() for line in here(capsys, *words, "--on", "2026-11-26").out.splitlines()]
    assert "Of the shelf, lots in date on 2026-11-26 count, the first to expire first." in asked
    assert "Use these lots first (as on 2026-11-26)" in asked
