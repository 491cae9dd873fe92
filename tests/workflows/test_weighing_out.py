"""What is weighed keeps every rule; where no weights do, what would do is named and does."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.checks.judge import broken, judge
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Amount
from optimiser.domain.worktable import Balance
from optimiser.errors import OptimiserError, UsageError
from optimiser.search.weigh_plan import Plan, plan_weights, with_bands
from optimiser.solver.interface import Limits
from optimiser.workflows.sheet import SheetWanted, make_sheet
from optimiser.workflows.weigh import Lines, smallest_batch, weigh_out
from tests.effort import tries
from tests.workflows.desk import FLAGSHIP, F, copied, demo, proposed
from tests.workflows.test_saving_and_sheets import saved

FINE = (Balance(F("0.01"), F(200)), Balance(F(1), F(5000)))
KITCHEN = (Balance(F("0.1"), F(500)),)


def asked(formula: str, *briefs: str) -> tuple[Request, Lines]:
    proposal, request = proposed(demo(), formula, *briefs)
    return request, tuple((Slot(line.ingredient, line.phase), line.percent) for line in proposal.lines)


def holds(request: Request, shares: dict[Slot, Fraction]) -> bool:
    """Whether the judge passes it; a ceiling that a reading may not use up may be a step of 0.1 g short."""
    failed = broken(judge(replace(request, grid=None), shares))
    dosed = {slot.ingredient for slot in request.dosed}
    short = [v for v in failed if isinstance(v.rule, Amount) and v.rule.ingredient in dosed]
    assert all(abs(v.margin or F(0)) < F("0.1") for v in short)
    return len(short) == len(failed)


@pytest.mark.parametrize(
    "formula", ["oat-rose-mask", "apricot-face-lotion", "sunflower-balm", "oat-face-wash"]
)
@pytest.mark.parametrize(("batch", "balances"), [("250", FINE), ("285", KITCHEN), ("226.796", FINE)])
def test_every_rule_holds_on_what_is_weighed(formula: str, batch: str, balances: tuple[Balance, ...]) -> None:
    request, lines = asked(formula)
    plan = plan_weights(request, lines, F(batch), balances, limits=Limits())
    assert isinstance(plan, Plan)
    weights = plan.weighing.weights
    assert sum(weight.weighed_g for weight in weights) == plan.weighing.batch_g
    assert all(weight.weighed_g > 0 for weight in weights)
    finest = min(weight.reads_g for weight in weights)
    for weight in weights:
        assert ((weight.weighed_g - weight.top_up_g) / weight.reads_g).denominator == 1
        assert (weight.top_up_g / finest).denominator == 1
    shares = {
        slot: w.grams / plan.weighing.batch_g * 100 for (slot, _), w in zip(lines, weights, strict=True)
    }
    assert shares == dict(plan.shares)
    assert holds(request, shares)


@tries(16)
@given(
    st.integers(20, 80_000),
    st.sets(st.sampled_from(("0.001", "0.01", "0.1", "1")), min_size=1, max_size=2),
)
def test_any_batch_adds_up_and_passes_the_judge_or_says_why_not(tenths: int, reads: set[str]) -> None:
    request, lines = asked("sunflower-balm")
    balances = tuple(Balance(F(one), F(one) * 20_000) for one in sorted(reads))
    plan = plan_weights(request, lines, F(tenths) / 10, balances, limits=Limits())
    if not isinstance(plan, Plan):
        shares = {slot: share for slot, share in lines if share}
        assert plan.broken or min(shares.values()) * tenths / 1000 < min(one.reads_g for one in balances)
        return
    weights = plan.weighing.weights
    assert sum(weight.weighed_g for weight in weights) == plan.weighing.batch_g
    assert abs(plan.weighing.batch_g - F(tenths) / 10) <= min(weight.reads_g for weight in weights) / 2
    assert all(weight.weighed_g > 0 for weight in weights)
    assert holds(request, dict(plan.shares))


def test_where_rounding_alone_breaks_a_rule_the_steps_are_chosen_together() -> None:
    request, lines = asked(FLAGSHIP, "sensitive-skin")
    plan = plan_weights(request, lines, F(285), KITCHEN, limits=Limits())
    assert isinstance(plan, Plan)
    assert plan.moved
    rounded = {slot: round(share * 285 / 100 / F("0.1")) * F("0.1") / 285 * 100 for slot, share in lines}
    filler = request.filler
    rounded[filler] += 100 - sum(rounded.values())
    assert not holds(request, rounded)


def test_a_line_off_by_its_band_passes_no_limit_of_the_law() -> None:
    request, lines = asked("apricot-face-lotion")
    slots = tuple(slot for slot, _ in lines)
    plan = plan_weights(request, lines, F(60), KITCHEN, limits=Limits())
    assert isinstance(plan, Plan)
    banded = with_bands(request, slots, plan).weighing.weights
    assert any(new.high < old.high for new, old in zip(banded, plan.weighing.weights, strict=True))
    law = replace(request, grid=None, rules=tuple(r for r in request.rules if r.head.basis == "law"))
    grams = dict(zip(slots, (weight.grams for weight in banded), strict=True))
    for slot, weight in zip(slots, banded, strict=True):
        for end in (weight.low, weight.high):
            off = {**grams, slot: end}
            whole = sum(off.values())
            shares = {one: part / whole * 100 for one, part in off.items()}
            assert not broken(judge(law, shares))


def test_too_coarse_a_balance_names_a_batch_that_works() -> None:
    request, lines = asked("sunflower-balm", "vegan")

    def reopen(_: Fraction) -> tuple[Request, dict[Slot, Fraction]]:
        return request, dict(lines)

    with pytest.raises(OptimiserError, match=r"steps of 0.1 g") as fault:
        weigh_out(reopen, F(20), KITCHEN)
    enough = smallest_batch(reopen, F(20), KITCHEN)
    assert enough is not None
    assert f"a batch of {float(enough):g} g works" in str(fault.value)
    done = weigh_out(reopen, enough, KITCHEN)
    assert holds(request, dict(done.plan.shares))


def test_a_stock_of_one_part_in_ten_weighs_what_the_balance_could_not() -> None:
    request, lines = asked(FLAGSHIP, "sensitive-skin")

    def reopen(_: Fraction) -> tuple[Request, dict[Slot, Fraction]]:
        return request, dict(lines)

    done = weigh_out(reopen, F(60), KITCHEN, ("all",))
    assert {slot.ingredient for slot in done.stocks} == {"sodium-benzoate", "potassium-sorbate"}
    weights = dict(zip((slot for slot, _ in lines), done.plan.weighing.weights, strict=True))
    stocks = [weights[slot] for slot in done.stocks]
    assert all(w.stock_g is not None and w.grams * 10 == w.stock_g for w in stocks)
    assert weights[request.filler].less_g == 9 * sum(w.grams for w in stocks)
    assert sum(w.weighed_g for w in weights.values()) == done.plan.weighing.batch_g
    assert all((w.weighed_g / F("0.1")).denominator == 1 for w in weights.values())
    assert holds(request, dict(done.plan.shares))


def test_what_water_is_not_known_to_dissolve_makes_no_stock() -> None:
    request, lines = asked(FLAGSHIP)

    def reopen(_: Fraction) -> tuple[Request, dict[Slot, Fraction]]:
        return request, dict(lines)

    for word, why in (("kaolin", "dissolves"), ("citric-acid-20", "reading"), ("kaolim", "no line")):
        with pytest.raises(UsageError, match=why):
            weigh_out(reopen, F(250), FINE, (word,))


def test_the_sheet_tells_how_the_stock_is_made(tmp_path: Path) -> None:
    (path,) = saved(copied(tmp_path), "sensitive-skin")
    wanted = SheetWanted(path, tmp_path, batch="60 g", balance="0.1 g", dilute=("sodium-benzoate",))
    sheet = make_sheet(wanted)
    assert any(
        "Stock of Sodium benzoate: 1.0 g in 9.0 g of Demineralised water" in text for text in sheet.before
    )
    line = next(one for one in sheet.lines if one.ingredient == "sodium-benzoate")
    assert line.grams == 3
    assert sum(one.grams for one in sheet.lines) == 60


def test_a_batch_that_nothing_can_weigh_is_refused(tmp_path: Path) -> None:
    (path,) = saved(copied(tmp_path), formula="sunflower-balm")
    with pytest.raises(OptimiserError, match="cannot be weighed out"):
        make_sheet(SheetWanted(path, tmp_path, batch="0.1 g"))
