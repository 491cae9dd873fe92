"""How much of another gum thickens as one of the base does."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.requests.close import close
from optimiser.requests.options import Options
from optimiser.search.equivalents import equivalents
from tests.workflows.desk import demo


def told(formula: str, **now: str | None) -> list[str]:
    """What is said of the demo formula where these shares stand instead; None takes a line out."""
    sources = demo()
    request = close(sources, sources.worktable.formulas[formula], None, Options())
    shares = {slot: share for slot, share in request.base.items() if now.get(slot.ingredient, "") is not None}
    for slot in request.slots:
        if slot.ingredient in now and now[slot.ingredient] and slot.phase == request.slots[0].phase:
            shares[slot] = Fraction(now[slot.ingredient] or 0)
    amounts = Amounts(tuple(sorted(shares.items())), request.ingredients)
    return [remark.text for remark in equivalents(request, amounts)]


def test_what_came_is_told_in_terms_of_what_went() -> None:
    """Xanthan 11 Pa.s at 1 % and square, konjac 52 at 1 %: equal by their power laws in the same water."""
    sources = demo()
    (text,) = told("oat-rose-mask", xanthan=None, konjac="0.3")
    assert text.startswith("0.4 % Xanthan gum thickens this water phase as ")
    dose = float(text.split(" as ")[1].split(" %")[0])
    known = sources.worktable.ingredients

    def law(name: str, figure: str) -> float:
        found = known[name].figure(figure)
        assert found is not None
        return float(found.value)

    request = close(sources, sources.worktable.formulas["oat-rose-mask"], None, Options())
    phase = sum(
        float(share) * (1 if one.group == "polyol" else float(one.figures["water_content"].value) / 100)
        for slot, share in request.base.items()
        for one in (known[slot.ingredient],)
    )
    eta = law("xanthan", "viscosity_1pct") * (40 / phase) ** law("xanthan", "viscosity_power")
    by_hand = (eta / law("konjac", "viscosity_1pct")) ** (1 / law("konjac", "viscosity_power")) * phase / 100
    assert dose == pytest.approx(by_hand, abs=0.0051)
    assert "0.3 % above is by the level of thickening" in text


def test_where_no_gum_moved_others_of_the_same_charge_are_named_first() -> None:
    (text,) = told("oat-rose-mask")
    assert "Carrageenan" in text
    assert "start at seven tenths" in text


def test_a_formula_without_gums_and_one_that_only_loses_its_gum_are_silent() -> None:
    assert told("sunflower-balm") == []
    assert told("oat-rose-mask", xanthan=None) == []
