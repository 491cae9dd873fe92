"""What a trial is expected to read is what the judge foretells, by its own functions."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest

from optimiser.checks.acidity import reach_of
from optimiser.checks.amounts import Amounts
from optimiser.checks.densities import density_of
from optimiser.checks.forecasts import Told, foretell
from optimiser.checks.thickness import Thick, thickness_of
from optimiser.domain.request import Request
from optimiser.domain.rules import Acidity, Thickness
from optimiser.domain.trials import Expected
from optimiser.trials.expecting import expected_of
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import request_for
from tests.workflows.desk import demo

F = Fraction


@cache
def asked(formula: str) -> tuple[Request, Amounts, dict[str, Expected]]:
    request = request_for(demo(), ask(demo(), formula, {}))
    lines = tuple(sorted((slot, share) for slot, share in request.base.items() if share))
    found = {one.measure: one for one in expected_of(request, request.base)}
    return request, Amounts(lines, request.ingredients), found


@pytest.mark.parametrize("formula", ["sunflower-balm", "rose-serum", "oat-rose-mask"])
def test_density_is_that_of_the_judge(formula: str) -> None:
    _, amounts, found = asked(formula)
    density = density_of(amounts)
    assert density is not None
    assert (found["density"].value, found["density"].low, found["density"].high) == (
        density.value,
        density.low,
        density.high,
    )


def test_a_formula_without_water_is_expected_to_read_no_ph_and_no_thickness() -> None:
    assert set(asked("sunflower-balm")[2]) == {"density"}


@pytest.mark.parametrize("formula", ["rose-serum", "oat-rose-mask"])
def test_water_activity_is_that_of_the_judge(formula: str) -> None:
    request, amounts, found = asked(formula)
    told = foretell("water_activity", amounts, request.ph_window, request.substances)
    assert isinstance(told, Told)
    assert found["water-activity"].value == round(told.value, 3)


def test_thickness_is_that_of_the_judge_in_three_digits_and_its_ends_hold_the_error_of_the_laws() -> None:
    request, amounts, found = asked("oat-rose-mask")
    shear = next((rule.shear for rule in request.rules if isinstance(rule, Thickness)), F(1))
    told = thickness_of(amounts, shear, request.ph_window, request.substances)
    assert isinstance(told, Thick)
    own = found["thickness"]
    assert own.rate == shear
    assert abs(own.value / told.value - 1) < F(1, 100)
    assert own.low <= told.value / 3 * F("1.01")
    assert own.high >= told.value * 3 * F("0.99")


def test_ph_with_and_without_the_dosed_line_are_the_two_ends_that_the_judge_reaches() -> None:
    request, amounts, found = asked("oat-rose-mask")
    dosed = tuple(sorted({slot.ingredient for slot in request.dosed}))
    assert dosed
    reach = reach_of(dosed, amounts, request)
    assert reach is not None
    assert reach.acid.ph is not None
    assert reach.alkaline.ph is not None
    assert abs(float(found["ph-all"].value) - reach.acid.ph) <= 0.005
    assert abs(float(found["ph-before"].value) - reach.alkaline.ph) <= 0.005
    assert found["ph-before"].value > found["ph-all"].value


def test_the_finished_ph_of_a_dosed_formula_is_what_its_line_is_dosed_to_inside_the_window() -> None:
    request, _, found = asked("oat-rose-mask")
    rules = [rule for rule in request.rules if isinstance(rule, Acidity) and rule.head.rank is None]
    low, high = max(rule.low for rule in rules), min(rule.high for rule in rules)
    own = found["ph"]
    assert (own.low, own.value, own.high) == (low, F("4.8"), high)
    elsewhere = {slot: replace(dosed, to="pH 6") for slot, dosed in request.dosed.items()}
    (middle, *_) = expected_of(replace(request, dosed=elsewhere), request.base)
    assert (middle.measure, middle.value) == ("ph", (low + high) / 2)
