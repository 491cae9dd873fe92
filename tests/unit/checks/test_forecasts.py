"""What is foretold of small pots, against the science asked directly or by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.checks.emulsions import parts_of
from optimiser.checks.forecasts import HARDLY_ANY, Told, foretell
from optimiser.checks.free_liquid import Left, judge_free_liquid, left_of
from optimiser.domain.ingredient import Figure, Ingredient, Part
from optimiser.domain.rules import FreeLiquid
from optimiser.domain.substance import Substance
from optimiser.science.acidity_rows import buffer_per_gram
from optimiser.science.charge import ChargeProfile, Unknown
from optimiser.science.formula import profile_for
from optimiser.science.water_activity import Solute, water_activity
from tests.points import pot
from tests.small import figure, fr, head, ingredient

WINDOW = (fr("3.5"), fr("4.5"))
SUBSTANCES = {
    "sorbic acid": Substance("Sorbic Acid", "", "", fr("112.128"), (fr("4.76"),), -1, "", "test", "memory"),
    "glycerin": Substance("Glycerin", "", "", fr("92.09"), (), 0, "", "test", "memory"),
}


def made(name: str, group: str, part: str = "", kind: str = "", **figures: Figure) -> Ingredient:
    parts = (Part(part or name.title(), fr(100), fr(100), fr(100)),)
    return replace(ingredient(name, kind or group, group, "1"), figures=figures, composition=parts)


def ranged(low: str, value: str, high: str) -> Figure:
    return Figure(fr(value), fr(low), fr(high), "", "invented", "measured")


NONE, ALL = figure("0"), figure("100")
WATER = made("water", "water", "Aqua", density=figure("1"), water_content=ALL)
ACID = made("acid", "preservative", "Sorbic Acid", water_content=NONE)
GLYCERIN = made(
    "glycerin", "polyol", norrish_k=ranged("1", "1.2", "1.5"), density=figure("1.25"), water_content=NONE
)
CLAY = made(
    "clay",
    "clay",
    density=figure("2.5"),
    water_held=ranged("0.1", "0.2", "0.4"),
    packing_max=figure("0.6"),
    shape_factor=figure("3"),
    water_uptake=ranged("0.4", "0.5", "0.7"),
    water_content=figure("2"),
)


def told(what: str, amounts: Amounts) -> Told:
    found = foretell(what, amounts, WINDOW, SUBSTANCES)  # type: ignore[arg-type]
    assert isinstance(found, Told)
    return found


def test_a_buffer_is_that_of_the_weaker_end_of_the_window() -> None:
    """As a difference over a thousandth of a pH it is the slope but for a millionth of it."""

    def slope(ph: Fraction) -> float:
        profiles = [(share, profile_for(one, SUBSTANCES)) for share, one in ((98, WATER), (2, ACID))]
        return float(
            sum(
                10 * share * buffer_per_gram(profile, ph)
                for share, profile in profiles
                if isinstance(profile, ChargeProfile)
            )
        )

    found = told("buffer", pot(("98", WATER), ("2", ACID)))
    assert float(found.value) == pytest.approx(min(slope(ph) for ph in WINDOW), rel=2e-6)
    assert slope(WINDOW[0]) < slope(WINDOW[1]) / 1.1


@pytest.mark.parametrize("what", ["water_activity", "frost_proof", "buffer"])
def test_below_a_twentieth_of_water_nothing_is_foretold_of_it(what: str) -> None:
    enough, less = (
        foretell(what, pot((share, WATER), (rest, GLYCERIN)), WINDOW, SUBSTANCES)  # type: ignore[arg-type]
        for share, rest in (("5", "95"), ("4.999", "95.001"))
    )
    assert isinstance(enough, Told) or what == "water_activity"
    assert less == Unknown(HARDLY_ANY)


def test_water_activity_at_the_middle_and_at_both_ends_of_the_data() -> None:
    found = told("water_activity", pot(("70", WATER), ("30", GLYCERIN)))
    high, middle, low = (
        water_activity([(Solute(fr("92.09"), fr(k)), fr(30))], fr(70)) for k in ("1", "1.2", "1.5")
    )
    assert (found.low, found.value, found.high) == (low, middle, high)
    assert found.low < found.value < found.high


def test_frost_is_kept_off_by_particles_per_water() -> None:
    found = told("frost_proof", pot(("80", WATER), ("20", GLYCERIN)))
    assert found.value == fr("1.858") * 20 / fr("92.09") / fr("0.08")
    assert found == Told(found.value, found.value, found.value)


def test_grains_take_their_room_with_the_water_they_hold() -> None:
    """20 g at 2.5 g/ml are 8 ml, of 80 + 8 in all, and 0.1 to 0.4 ml more each gram with their water."""
    found = told("powder_volume", pot(("80", WATER), ("20", CLAY)))
    assert found == Told(*(100 * (8 + 20 * fr(held)) / fr(88) for held in ("0.2", "0.1", "0.4")))
    assert told("powder_volume", pot(("80", WATER), ("20", GLYCERIN))).value == 0


def test_free_liquid_at_the_middle_and_where_the_powders_drink_most_and_least() -> None:
    found = left_of(pot(("50", WATER), ("10", GLYCERIN), ("40", CLAY)), False)
    assert isinstance(found, Left)
    assert (found.value, found.low, found.high) == tuple(
        60 + 40 * (fr("0.02") - fr(drunk)) for drunk in ("0.5", "0.7", "0.4")
    )
    assert found.numbers[0] == tuple(40 * (fr("0.02") - fr(drunk)) for drunk in ("0.7", "0.5", "0.4"))
    assert found.numbers[1:] == tuple((fr(share), fr(share), fr(share)) for share in (10, 50))


@pytest.mark.parametrize(
    ("surely", "low", "high", "met", "margin"),
    [
        (False, "40.8", "40.8", True, "0"),
        (False, "40.9", None, False, "-0.1"),
        (False, None, "40.7", False, "-0.1"),
        (True, "32.8", "44.8", True, "0"),
        (True, "32.9", None, False, "-0.1"),
        (True, None, "44.7", False, "-0.1"),
    ],
)
def test_free_liquid_is_judged_at_the_middle_or_surely(
    surely: bool, low: str | None, high: str | None, met: bool, margin: str
) -> None:
    least, most = (None if one is None else fr(one) for one in (low, high))
    rule = FreeLiquid(replace(head("r"), surely=surely), least, most, predicted=True)
    verdict = judge_free_liquid(rule, pot(("50", WATER), ("10", GLYCERIN), ("40", CLAY)))
    assert (verdict.met, verdict.value, verdict.margin) == (met, fr("40.8"), fr(margin))
    assert verdict.note == "predicted, by the data 32.8 to 44.8; the sum errs by about 15 %"


def test_free_liquid_that_is_not_known_is_held_by_reading_alone() -> None:
    bare = made("gel", "gel")
    rule = FreeLiquid(head("r"), fr(1), predicted=True)
    verdict = judge_free_liquid(rule, pot(("90", WATER), ("10", bare)))
    assert (verdict.met, verdict.value) == (False, None)
    assert verdict.note == "held by reading; not predicted: Gel: its water content is not known"
    read = judge_free_liquid(replace(rule, predicted=False), pot(("100", WATER)))
    assert (read.met, read.value, read.note) == (True, None, "held by reading")


def test_what_emulsifies_is_an_emulsifier_or_a_conditioner_that_says_so() -> None:
    oil = made("oil", "oil")
    sure, other, quat, mild = (
        replace(made(name, group), roles=roles)
        for name, group, roles in (
            ("sure", "emulsifier", ()),
            ("other", "ester", ("emulsifying",)),
            ("quat", "conditioner", ("emulsifying", "antistatic")),
            ("mild", "conditioner", ("antistatic",)),
        )
    )
    found = parts_of(pot(("70", WATER), ("20", oil), ("1", sure), ("2", other), ("3", quat), ("4", mild)))
    assert found is not None
    assert [[one.id for _, one in side] for side in found] == [["oil", "other"], ["sure", "quat"]]
    assert parts_of(pot(("70", WATER), ("20", oil), ("10", mild))) is None
