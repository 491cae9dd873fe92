"""Allergens are summed over every line at the highest content; the threshold has to be passed."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.checks.allergens import allergens, not_counted
from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient, Part
from optimiser.domain.request import LabelLimit, Slot
from tests.small import ingredient

F = Fraction
LINALOOL = LabelLimit("Linalool", (("Linalool", F(1)), ("D-Linalool", F(1))), F("0.001"), "test")
KETONES = LabelLimit("Rose Ketones", (("Alpha-Damascone", F(1)), ("Damascenone", F(1))), F("0.001"), "test")
LAVENDER = LabelLimit("Lavandula Oil/Extract", (("Lavandula Angustifolia Oil", F(1)),), F("0.001"), "test")


def part(name: str, low: str, high: str) -> Part:
    return Part(name, (F(low) + F(high)) / 2, F(low), F(high))


def scent(name: str, *parts: Part, inci: str = "") -> Ingredient:
    return replace(ingredient(name, "essential-oil", "scent", "1", inci=inci), composition=parts)


def pot(shares: dict[str, str], *ingredients: Ingredient) -> Amounts:
    lines = tuple((Slot(name, "A"), F(share)) for name, share in shares.items())
    return Amounts(lines, {one.id: one for one in ingredients})


OIL = scent("oil", part("linalool", "20", "40"), part("Alpha-Damascone", "0", "0.2"))
WATER = scent("hydrosol", part("D-Linalool", "0", "0.01"), part("Damascenone", "0.001", "0.02"))


def test_oils_and_waters_are_summed_at_their_highest_whatever_the_case() -> None:
    found = {
        one.substance: one
        for one in allergens((LINALOOL,), pot({"oil": "0.1", "hydrosol": "20"}, OIL, WATER))
    }
    assert found["Linalool"].percent == F("0.1") * F("0.4") + 20 * F("0.0001")
    assert found["Linalool"].on_label


def test_the_members_of_a_group_are_one_sum() -> None:
    (found,) = allergens((KETONES,), pot({"oil": "0.1", "hydrosol": "20"}, OIL, WATER))
    assert found.percent == F("0.1") * F("0.002") + 20 * F("0.0002")


def test_exactly_at_the_threshold_is_not_named() -> None:
    (at,) = allergens((LINALOOL,), pot({"oil": "0.0025"}, OIL))
    (above,) = allergens((LINALOOL,), pot({"oil": "0.002501"}, OIL))
    assert (at.percent, at.on_label) == (F("0.001"), False)
    assert above.on_label


def test_an_oil_that_is_listed_itself_counts_whole_beside_its_parts() -> None:
    lavender = scent("lavender", part("Linalool", "25", "38"), inci="Lavandula Angustifolia Oil")
    found = allergens((LAVENDER, LINALOOL), pot({"lavender": "0.1"}, lavender))
    assert [(one.substance, one.percent) for one in found] == [
        ("Lavandula Oil/Extract", F("0.1")),
        ("Linalool", F("0.038")),
    ]


def test_a_line_of_unknown_make_up_is_named_as_not_counted() -> None:
    unknown = replace(ingredient("perfume", "perfume", "scent", "1"), composition=None)
    amounts = pot({"perfume": "0.5", "oil": "0.00001"}, unknown, OIL)
    assert not_counted(amounts) == ("perfume",)
    assert [one.on_label for one in allergens((LINALOOL,), amounts)] == [False]


def test_more_than_the_whole_is_not_counted() -> None:
    odd = scent("odd", part("Linalool", "50", "70"), part("D-Linalool", "40", "60"))
    (found,) = allergens((LINALOOL,), pot({"odd": "2"}, odd))
    assert found.percent == 2
