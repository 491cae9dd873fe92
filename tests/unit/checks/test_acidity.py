"""The judge on a pH window, against pH solved here by itself."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.acidity import raises, reach_of, strength_of
from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import verdict_on
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Acidity
from optimiser.science.acidity import ph_range, solve_ph
from optimiser.science.formula import profiles_for
from optimiser.units.numbers import show_number
from tests.acids import window, world
from tests.small import fr, head

NEAR = 1e-6


def amounts(asked: Request) -> Amounts:
    return Amounts(tuple(sorted(asked.base.items())), asked.ingredients)


def said(asked: Request) -> Verdict:
    (rule,) = asked.rules
    return verdict_on(rule, amounts(asked), asked)


def spans(asked: Request, *without: str) -> tuple[float, float]:
    """Lowest and highest pH of the base without some lines."""
    profiles = profiles_for(asked.ingredients.values(), asked.substances)
    grams = {s.ingredient: share for s, share in asked.base.items() if s.ingredient not in without}
    found = ph_range(grams, profiles)
    assert found is not None
    return found


def ph_of_pot(asked: Request, *without: str) -> float:
    profiles = profiles_for(asked.ingredients.values(), asked.substances)
    grams = {s.ingredient: share for s, share in asked.base.items() if s.ingredient not in without}
    found = solve_ph(grams, profiles).ph
    assert found is not None
    return found


def test_an_acid_reaches_from_none_of_it_to_all_of_it() -> None:
    asked = world([window("4.5", "5.5", ["citric"])], dosed={"citric": "3"})
    verdict = said(asked)
    bare, full = spans(asked, "citric"), spans(asked)
    assert verdict.met
    assert verdict.value is None
    assert float(verdict.margin or 0) == pytest.approx(min(bare[0] - 4.6, 5.4 - full[1]), abs=NEAR)
    assert "before the adjuster" in verdict.note
    assert "with all of it" in verdict.note


def test_a_ceiling_too_low_for_the_worst_clay_is_not_enough() -> None:
    asked = world([window("4.5", "5.5", ["citric"])], dosed={"citric": "0.3"})
    verdict = said(asked)
    assert not verdict.met
    assert float(verdict.margin or 0) == pytest.approx(5.4 - spans(asked)[1], abs=NEAR)


def test_an_alkali_reaches_up() -> None:
    base = {"kaolin": "10", "citric": "2"}
    assert not said(world([window("5.5", "6")], base)).met
    assert said(world([window("5.5", "6", ["lye"])], base, {"lye": "3"})).met


@pytest.mark.parametrize(
    ("dosed", "adjusters", "up"),
    [
        ({"lye": "1"}, ["lye"], True),
        ({"lye": "1"}, ["citric", "lye"], True),
        ({"citric": "1"}, ["citric"], False),
        ({"citric": "1", "lye": "1"}, ["citric", "lye"], False),
        ({"citric": "1"}, ["lye"], False),
        ({}, ["lye"], False),
    ],
)
def test_only_alkalis_raise(dosed: dict[str, str], adjusters: list[str], up: bool) -> None:
    assert raises(adjusters, amounts(world([], dosed=dosed))) is up


def test_what_an_alkali_does_is_told_from_low_to_high() -> None:
    base = {"kaolin": "10", "citric": "2"}
    asked = world([window("5.5", "6", ["lye"])], base, {"lye": "3"})
    before, after = (ph_of_pot(asked, *without) for without in (("lye",), ()))
    assert f"predicted {before:.1f} (" in said(asked).note
    assert f"and {after:.1f} with all of it" in said(asked).note


def test_acid_and_alkali_reach_both_ways() -> None:
    base = {"benzoate": "0.5"}
    both = world([window("5", "5.2", ["citric", "lye"])], base, {"citric": "2", "lye": "1"})
    reach = reach_of(("citric", "lye"), amounts(both), both)
    assert reach is not None
    assert reach.acid_range[0] == pytest.approx(spans(both, "lye")[0])
    assert reach.alkaline_range[1] == pytest.approx(spans(both, "citric")[1])
    assert said(both).met


def test_a_dosed_citrate_pulls_to_its_own_ph_from_either_side() -> None:
    """Near its own pH it is neither acid nor alkali; alone in water it reads above 7."""
    base = {"lye": "2", "kaolin": "10"}
    asked = world([window("8", "11", ["citrate"], worst=False)], base, {"citrate": "10"})
    reach = reach_of(("citrate",), amounts(asked), asked)
    assert reach is not None
    assert reach.acid.ph is not None
    assert reach.alkaline.ph is not None
    assert reach.acid.ph < reach.alkaline.ph
    bare = solve_ph(
        {s.ingredient: v for s, v in asked.base.items() if s.ingredient != "citrate"},
        profiles_for(asked.ingredients.values(), asked.substances),
    )
    assert reach.alkaline.ph == pytest.approx(bare.ph)


def test_without_a_dosed_line_the_ph_itself_is_told() -> None:
    asked = world([window("2", "8")], {"kaolin": "10", "citric": "1"})
    verdict = said(asked)
    middle = solve_ph(
        {s.ingredient: v for s, v in asked.base.items()},
        profiles_for(asked.ingredients.values(), asked.substances),
    ).ph
    assert verdict.met
    assert middle is not None
    assert verdict.value == Fraction(repr(round(middle, 2)))


@pytest.mark.parametrize(
    ("low", "high", "apart"),
    [("2", "3.9", True), ("2", "4", False), ("4.5", "4.6", False), ("5", "6", False), ("5.1", "6", True)],
)
def test_two_windows_have_to_share_a_reading(low: str, high: str, apart: bool) -> None:
    rule, other = Acidity(head("ph"), fr(4), fr(5)), Acidity(head("other", "Another pH."), fr(low), fr(high))
    asked = world([rule, other], dosed={"citric": "1"})
    verdict = verdict_on(rule, amounts(asked), asked)
    assert verdict.met is not apart
    assert verdict.note.startswith("no one reading lies in this window and also in: Another pH") is apart
    wish = replace(asked, rules=(rule, replace(other, head=replace(other.head, rank=1))))
    assert verdict_on(rule, amounts(wish), wish).met


def test_by_reading_alone_a_line_to_adjust_with_is_enough() -> None:
    rule = Acidity(head("ph"), fr(4), fr(5))
    there = said(world([rule], dosed={"citric": "1"}))
    assert there.met
    assert there.margin is None
    assert "Citric" in there.note
    assert not said(world([rule])).met


def test_a_dosed_line_that_is_not_there_reaches_nothing() -> None:
    asked = world([window("4.5", "5.5", ["citric"])])
    verdict = said(asked)
    assert not verdict.met
    assert verdict.margin is not None
    assert verdict.margin < 0


@pytest.mark.parametrize(
    ("more", "why"), [({"glycerin": "25"}, "glycols"), ({"salt": "8"}, "too many salts"), ({}, "")]
)
def test_what_cannot_be_predicted_is_not_claimed(more: dict[str, str], why: str) -> None:
    asked = world([window("2", "11", ["citric"])], {"kaolin": "10", **more}, {"citric": "3"})
    verdict = said(asked)
    assert verdict.met is not bool(why)
    assert why in verdict.note
    assert verdict.note.startswith("outside what can be predicted") is bool(why)


def test_hardly_any_water_has_no_ph() -> None:
    dry = world([window("2", "11")], {"kaolin": "97", "benzoate": "1"})
    verdict = said(dry)
    assert not verdict.met
    assert "outside what can be predicted" in verdict.note


def test_the_worst_values_count_only_where_asked() -> None:
    base = {"kaolin": "20", "bentonite": "5", "benzoate": "0.4"}
    middle = world([window("4.9", "5.5", worst=False)], base)
    profiles = profiles_for(middle.ingredients.values(), middle.substances)
    ph = solve_ph({s.ingredient: v for s, v in middle.base.items()}, profiles).ph
    assert ph is not None
    low, high = Fraction(str(round(ph - 0.15, 3))), Fraction(str(round(ph + 0.15, 3)))
    assert said(world([window(low, high, worst=False)], base)).met
    assert not said(world([window(low, high)], base)).met
    surely = replace(window(low, high, worst=False), head=replace(head("ph"), surely=True))
    assert not said(world([surely], base)).met


def told(low: float, high: float, *, dosed: bool = False) -> Verdict:
    """The verdict on a jar of 1 % citric acid, or of that much dosed, at its middle values."""
    ends = (Fraction(repr(round(low, 3))), Fraction(repr(round(high, 3))))
    if dosed:
        return said(world([window(*ends, ["citric"], worst=False)], {"kaolin": "10"}, {"citric": "1"}))
    return said(world([window(*ends, worst=False)], {"kaolin": "10", "citric": "1"}))


def own_ph() -> float:
    value = told(2, 11).value
    assert value is not None
    return float(value)


def test_nothing_corrects_what_is_not_dosed_so_it_is_inside_by_the_model_s_error() -> None:
    ph = own_ph()
    assert told(ph - 0.11, ph + 0.5).met
    assert not told(ph - 0.09, ph + 0.5).met
    assert told(ph - 0.5, ph + 0.11).met
    assert not told(ph - 0.5, ph + 0.09).met


def test_in_a_window_too_narrow_for_the_error_the_middle_is_held_and_said() -> None:
    ph = own_ph()
    at_middle = told(ph - 0.05, ph + 0.05)
    assert at_middle.met
    held = (Fraction(repr(round(ph - 0.05, 3))) + Fraction(repr(round(ph + 0.05, 3)))) / 2
    assert at_middle.note.endswith(
        f"the window is too narrow for that error, so its middle is held: pH {show_number(held, 2)}"
    )
    assert not told(ph - 0.03, ph + 0.07).met
    assert "too narrow" not in told(ph - 0.5, ph + 0.5).note


def test_a_dosed_jar_is_brought_into_a_narrow_window_by_the_meter() -> None:
    """The acid reaches 0.1 beyond both ends, so any window between is reached, however narrow."""
    ph = own_ph()
    assert told(ph + 0.5, ph + 0.52, dosed=True).met
    assert not told(ph - 0.02, ph + 0.05, dosed=True).met


@pytest.mark.parametrize(("there", "worst"), [("benzoate", True), ("salt", False)])
def test_the_worst_values_count_while_an_acid_preservative_is_there(there: str, worst: bool) -> None:
    rule = replace(window("4.9", "5.5"), preservatives=("benzoate", "sorbate"))
    base = {"kaolin": "20", "bentonite": "5", there: "0.4"}
    verdict = said(world([rule], base))
    assert verdict.rule.head.basis == ("safety" if worst else "character")
    plain = said(world([window("4.9", "5.5", worst=worst)], base))
    assert verdict.margin == plain.margin


def test_the_strength_of_an_answer() -> None:
    asked = world([], {"salt": "1"})
    water = 99
    found = strength_of(asked, {slot: float(share) for slot, share in asked.base.items()})
    assert float(found) == pytest.approx(10 / 58.443 / water * 100, abs=1e-3)
