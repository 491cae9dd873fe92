"""What is said where thickness or pH is foretold far from the base's and nobody asked to hold it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.checks.thickness import Thick, thickness_of
from optimiser.domain.outcome import Measure
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Head, Thickness
from optimiser.requests.close import close
from optimiser.requests.options import Options
from optimiser.search.by_models import foretold_of
from optimiser.search.moved import moved
from optimiser.search.telling import measured
from tests.small import request as small
from tests.workflows.desk import demo

F = Fraction


def closed(formula: str) -> Request:
    sources = demo()
    return close(sources, sources.worktable.formulas[formula], None, Options())


def said(request: Request, change: dict[str, str]) -> dict[str, str]:
    """What is said of the base with so many per cent of these lines, the filler making up the rest."""
    shares = dict(request.base)
    for slot in list(shares):
        if slot.ingredient in change:
            shares[slot] = F(change[slot.ingredient])
    shares[request.filler] += 100 - sum(shares.values())
    kept = {slot: share for slot, share in shares.items() if share}
    base, now = amounts(request, request.base), amounts(request, kept)
    return {
        one.about: one.text
        for one in moved(request, base, now, measured(request, kept, foretold_of(request, now)))
    }


def amounts(request: Request, shares: Mapping[Slot, Fraction]) -> Amounts:
    return Amounts(tuple(sorted(shares.items())), request.ingredients)


def test_a_serum_with_a_third_of_its_gum_is_said_to_be_thinner() -> None:
    request = closed("rose-serum")
    was = thickness_of(amounts(request, request.base), F(1), request.ph_window, request.substances)
    assert isinstance(was, Thick)
    text = said(request, {"xanthan": "0.1"})["thickness"]
    assert "less than" in text
    assert f"the base {float(round(was.value, 2)):.3g}: " in text
    assert "or ask for a thickness." in text


def test_more_gum_is_said_in_times_and_none_at_all_as_a_part() -> None:
    request = closed("rose-serum")
    assert "times as thick" in said(request, {"xanthan": "0.6"})["thickness"]
    assert "tenth as thick" in said(request, {"xanthan": "0", "sodium-hyaluronate": "0"})["thickness"]


def test_a_small_move_and_the_base_itself_are_not_worth_a_word() -> None:
    request = closed("rose-serum")
    assert said(request, {}) == {}
    assert said(request, {"xanthan": "0.29"}) == {}


def test_a_thickness_that_is_asked_is_judged_and_not_remarked() -> None:
    request = closed("rose-serum")
    rule = Thickness(Head("asked", "At least 1 Pa.s.", "test"), F(1), None, F(1))
    assert said(replace(request, rules=(*request.rules, rule)), {"xanthan": "0.1"}) == {}


def test_a_ph_that_nobody_holds_is_told_from_three_tenths_on() -> None:
    request = replace(small(), ph_window=None)
    base = amounts(request, request.base)

    def told(before: str, after: str, one: Request = request) -> list[str]:
        measure = Measure("pH, predicted", F(before), F(after), "pH")
        return [remark.text for remark in moved(one, base, base, [measure]) if remark.about == "pH"]

    assert told("7.8", "5.95")[0].startswith("Foretold 5.95, the base 7.80")
    assert told("5.8", "5.95") == []
    assert told("7.8", "5.95", replace(request, ph_window=(F(5), F(6)))) == []


def test_powders_that_take_up_all_the_liquid_are_told_first_and_beside_a_thickness_held_by_reading() -> None:
    request = closed("oat-rose-mask")
    much = {"kaolin": "50"}
    text = said(request, much)["thickness"]
    assert text.startswith("As much powder as this takes up all the liquid: it will not be the paste that")
    was = thickness_of(amounts(request, request.base), F(1), request.ph_window, request.substances)
    assert isinstance(was, Thick)
    told = re.search(r"\(foretold ([0-9.]+) Pa\.s at 1/s\)", text)
    assert told is not None
    assert float(told[1]) == pytest.approx(float(was.value), rel=0.002)
    rule = Thickness(Head("read", "At most 1 Pa.s.", "test"), None, F(1))
    assert said(replace(request, rules=(*request.rules, rule)), much)["thickness"] == text
    assert "takes up all" not in said(request, {"kaolin": "18"}).get("thickness", "")


def test_powder_packed_in_a_base_that_packs_already_is_no_news() -> None:
    request = closed("oat-rose-mask")
    shares = {slot: share for slot, share in request.base.items() if slot.ingredient != "kaolin"}
    kaolin = next(slot for slot in request.base if slot.ingredient == "kaolin")
    shares[kaolin] = F(50)
    shares[request.filler] += 100 - sum(shares.values())
    packed = amounts(request, shares)
    assert moved(request, packed, packed, ()) == ()
    serum = closed("rose-serum")
    was, now = amounts(serum, serum.base), Amounts(packed.lines, request.ingredients)
    assert "it will not be the liquid" in moved(serum, was, now, ())[0].text
