"""The judge on thickness, against sums done by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import verdict_on
from optimiser.checks.thickness import Thick, thickness_of
from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.request import Slot
from optimiser.domain.rules import Head, Thickness
from optimiser.science.body import WATER
from optimiser.science.charge import Unknown
from tests.small import figure, fr, ingredient, request

HEAD = Head("t", "Thick.")


def gum(name: str, at_one: str, power: str, inci: str = "", **more: str) -> Ingredient:
    made = ingredient(
        name, "gum-anionic", "gum", "20", inci=inci, viscosity_1pct=at_one, viscosity_power=power,
        density="1.5", water_content="0",
    )  # fmt: skip
    return replace(made, figures={**made.figures, **{key: figure(text) for key, text in more.items()}})


POT = {
    one.id: one
    for one in (
        ingredient("water", "water", "water", "1", inci="Aqua", water_content="100", density="1"),
        gum("xanthan", "11", "2", "Xanthan Gum", flow_index="0.2"),
        gum("konjac", "52", "3.7", "Amorphophallus Konjac Root Powder"),
        gum("touchy", "200", "1", body_ph_min="5.5", body_ph_max="9.5"),
        ingredient(
            "beads", "mineral-powder", "mineral-powder", "1", density="2", water_content="0",
            packing_max="0.6", shape_factor="2.5", water_held="0",
        ),
        ingredient("dust", "mineral-powder", "mineral-powder", "1", density="2", water_content="0"),
        ingredient("wax", "wax", "wax", "1", density="0.9", water_content="0"),
        ingredient("oil", "oil", "oil", "1", density="0.9", water_content="0"),
    )
}  # fmt: skip


def pot(**shares: str) -> Amounts:
    lines = tuple((Slot(name, "A"), fr(share)) for name, share in sorted(shares.items()))
    return Amounts(lines, POT)


def told(amounts: Amounts, shear: str = "1", window: tuple[str, str] = ("4.5", "5")) -> Thick | Unknown:
    return thickness_of(amounts, fr(shear), (fr(window[0]), fr(window[1])), {})


def value(amounts: Amounts, shear: str = "1", window: tuple[str, str] = ("4.5", "5")) -> float:
    found = told(amounts, shear, window)
    assert isinstance(found, Thick), found
    return float(found.value)


def test_one_gum_follows_its_power_law_in_the_water_alone() -> None:
    """1 g on 100 g of water is 1 % of the water phase, oil or not: 11 · 1² Pa.s."""
    assert value(pot(water="100", xanthan="1")) == pytest.approx(11, rel=1e-12)
    assert value(pot(water="100", xanthan="0.5")) == pytest.approx(11 * 0.25, rel=1e-12)
    assert value(pot(water="100", xanthan="1", oil="20")) == pytest.approx(11, rel=1e-12)
    assert value(pot(water="100", xanthan="1"), "10") == pytest.approx(11 * 10 ** (0.2 - 1), rel=1e-9)


def test_powders_thicken_by_the_room_they_take() -> None:
    """30 g of 2 g/ml in 100 ml of water with 1 g of gum of 1.5 g/ml (Krieger and Dougherty)."""
    phi = 15 / (100 + 1 / 1.5 + 15)
    factor = (1 - phi / 0.6) ** (-2.5 * 0.6)
    assert value(pot(water="100", xanthan="1", beads="30")) == pytest.approx(11 * factor, rel=1e-9)


def test_water_without_gum_is_water() -> None:
    assert value(pot(water="100")) == float(WATER)


@pytest.mark.parametrize(
    ("amounts", "why"),
    [
        (pot(water="90", dust="10"), "Dust: how its grains pack"),
        (pot(water="90", wax="10"), "Wax: the body that its kind gives (wax)"),
        (pot(oil="90", xanthan="10"), "no water phase"),
        (pot(water="20", beads="80"), "pack solid"),
        (pot(water="99", touchy="1"), "Touchy: it keeps its body only between pH 5.5 and 9.5"),
    ],
)
def test_what_stands_in_the_way_is_told(amounts: Amounts, why: str) -> None:
    found = told(amounts)
    assert isinstance(found, Unknown)
    assert why.casefold() in found.reason.casefold()


def test_both_ends_of_the_window_have_to_keep_the_body() -> None:
    assert value(pot(water="100", touchy="1"), window=("5.5", "7")) == pytest.approx(200)
    assert isinstance(told(pot(water="100", touchy="1"), window=("5.4", "7")), Unknown)


def _verdict(rule: Thickness, amounts: Amounts) -> tuple[bool, Fraction | None, str]:
    verdict = verdict_on(rule, amounts, request())
    return verdict.met, verdict.margin, verdict.note


def test_a_pair_that_does_more_than_its_sum_leaves_an_upper_limit_to_reading() -> None:
    both = pot(water="100", xanthan="1", konjac="1")
    rule = Thickness(HEAD, fr(20), fr(30), predicted=True)
    met, margin, note = _verdict(rule, both)
    assert met
    assert margin is not None
    assert margin > 20
    assert "Xanthan Gum and Amorphophallus Konjac Root Powder" in note
    assert "held by reading" in note
    alone, margin, note = _verdict(rule, pot(water="100", konjac="1"))
    assert not alone
    assert margin is not None
    assert round(margin, 6) == 30 - 52
    assert "held by reading" not in note


def test_what_is_not_predicted_is_held_by_reading() -> None:
    rule = Thickness(HEAD, fr(20), fr(30))
    met, margin, note = _verdict(rule, pot(water="90", wax="10"))
    assert met
    assert margin is None
    assert note.startswith("held by reading; not predicted: ")
    met, margin, _ = _verdict(replace(rule, predicted=True), pot(water="90", wax="10"))
    assert not met


def test_surely_asks_the_ends_of_the_data() -> None:
    spread = {**POT, "xanthan": replace(POT["xanthan"], figures=_spread(POT["xanthan"]))}
    amounts = Amounts(pot(water="100", xanthan="1").lines, spread)
    for low, high, holds in (("5.4", "22.1", True), ("5.6", "22.1", False), ("5.4", "21.9", False)):
        rule = Thickness(replace(HEAD, surely=True), fr(low), fr(high), predicted=True)
        assert verdict_on(rule, amounts, request()).met is holds


@pytest.mark.parametrize(
    ("share", "words"), [("1", "5.5 to 22"), ("0.25", "0.344 to 1.4"), ("2", "22 to 88")]
)
def test_what_the_data_allow_is_told_in_as_many_digits_as_count(share: str, words: str) -> None:
    spread = {**POT, "xanthan": replace(POT["xanthan"], figures=_spread(POT["xanthan"]))}
    amounts = Amounts(pot(water="100", xanthan=share).lines, spread)
    _, _, note = _verdict(Thickness(HEAD, fr(20), fr(30), predicted=True), amounts)
    assert note.startswith(f"predicted, by the data {words}; the laws err by a factor of about 3")


def _spread(one: Ingredient) -> dict[str, Figure]:
    own = one.figures["viscosity_1pct"]
    return {**one.figures, "viscosity_1pct": replace(own, low=own.value / 2, high=own.value * 2)}
