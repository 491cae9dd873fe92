"""Rows of a predicted pH window: which lines they speak of, where they are strict and where lenient."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.ingredient import Ingredient, Part, Status
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Acidity
from optimiser.lp.build import build
from optimiser.model.rows import Row
from optimiser.science.acidity import solve_ph
from optimiser.science.acidity_rows import charge_bounds_per_gram
from optimiser.science.charge import ChargeProfile
from optimiser.science.formula import profiles_for
from tests.acids import TABLE, clay, ranged, rows_kept, window, world
from tests.points import rows_of
from tests.small import fr, head

B = "B"


def coef(row: Row, name: str) -> Fraction:
    return dict(row.coef).get(f"x:{Slot(name, B)}", Fraction(0))


def test_by_reading_alone_there_is_but_one_row() -> None:
    asked = world([Acidity(head("ph"), fr(4), fr(5))], dosed={"citric": "3"})
    assert set(rows_of(build(asked), "test#ph")) == {"adjuster"}


def test_two_windows_are_one_reading_in_both() -> None:
    one, other = (Acidity(head(name), fr(low), fr(6)) for name, low in (("ph", "4"), ("other", "5")))
    model = build(world([one, other], dosed={"citric": "3"}))
    rows = rows_of(model, "test#ph")
    assert set(rows) == {"adjuster", "reading-least", "reading-most"}
    assert (rows["reading-least"].lower, rows["reading-most"].upper) == (fr(4), fr(6))
    assert rows["reading-least"].coef == rows_of(model, "test#other")["reading-least"].coef


def test_needed_rows_stand_where_the_model_may_err_to_and_the_judge_rounds_to() -> None:
    asked = world([window("4.5", "5.5", worst=False)])
    found = rows_of(build(asked, lenient=True), "test#ph")
    beyond = fr("0.1") + fr("0.000001")
    for name, profile in profiles_for(asked.ingredients.values(), asked.substances).items():
        assert isinstance(profile, ChargeProfile)
        most, least = (
            charge_bounds_per_gram(profile, ph)[end]
            for ph, end in ((fr("4.5") - beyond, 1), (fr("5.5") + beyond, 0))
        )
        assert (coef(found["foot-any"], name), coef(found["top-any"], name)) == (most, least)


def test_strict_rows_stand_at_three_strengths_with_their_limits_and_lenient_ones_without() -> None:
    asked = world([window("4.5", "5.5", ["citric"])], dosed={"citric": "3"})
    strict, lenient = (set(rows_of(build(asked, lenient=side), "test#ph")) for side in (False, True))
    levels = {f"{side}-{level}" for side in ("foot", "top") for level in "123"}
    assert strict == {"adjuster", "ions-foot", "ions-top", "glycols", "water"} | levels
    assert lenient == {"adjuster", "foot-any", "top-any"}


def test_at_one_strength_there_is_one_pair_of_rows_and_no_cap() -> None:
    asked = world([window("4.5", "5.5", ["citric"])], dosed={"citric": "3"})
    found = set(rows_of(build(asked, incumbent=Incumbent({}, fr("0.08"))), "test#ph"))
    assert found == {"adjuster", "foot-1", "top-1", "glycols", "water"}


def test_a_dosed_acid_stands_at_none_in_the_foot_and_at_its_ceiling_in_the_top() -> None:
    asked = world([window("4.5", "5.5", ["citric"])], dosed={"citric": "3"})
    rows = rows_of(build(asked), "test#ph")
    assert coef(rows["foot-1"], "citric") == 0
    assert coef(rows["top-1"], "citric") < 0


def test_a_dosed_alkali_stands_the_other_way() -> None:
    asked = world([window("4.5", "5.5", ["lye"])], dosed={"lye": "1"})
    rows = rows_of(build(asked), "test#ph")
    assert coef(rows["foot-1"], "lye") > 0
    assert coef(rows["top-1"], "lye") == 0


def test_a_dosed_buffer_with_its_own_ph_in_the_window_helps_at_both_ends() -> None:
    """Half-neutralised lactic acid pulls to about 3.9 from either side."""
    half = replace(
        TABLE["lactate"],
        composition=(*(TABLE["lactate"].composition or ()), *(TABLE["lactic"].composition or ())),
    )
    asked = world([window("3", "6", ["lactate"])], dosed={"lactate": "5"}, table={**TABLE, "lactate": half})
    rows = rows_of(build(asked), "test#ph")
    assert coef(rows["foot-2"], "lactate") > 0 > coef(rows["top-2"], "lactate")


def test_a_fixed_acid_counts_at_both_ends() -> None:
    asked = world([window("4.5", "5.5")], {"kaolin": "10", "citric": "2"})
    rows = rows_of(build(asked), "test#ph")
    assert coef(rows["foot-1"], "citric") < 0
    assert coef(rows["top-1"], "citric") < 0
    assert "adjuster" not in rows


def test_at_worst_a_clay_counts_at_the_end_that_hurts_and_else_at_its_middle() -> None:
    worst, plain = (
        rows_of(build(world([window("4.5", "5.5", worst=side)])), "test#ph") for side in (True, False)
    )
    assert coef(worst["foot-1"], "kaolin") < coef(plain["foot-1"], "kaolin")
    assert coef(worst["top-1"], "kaolin") > coef(plain["top-1"], "kaolin")


@pytest.mark.parametrize("figure", ["buffer_slope", "powder_ph"])
def test_lenient_rows_take_an_assumed_clay_at_its_best_whichever_figure_is_assumed(figure: str) -> None:
    guessed = dict(TABLE["kaolin"].figures)
    guessed[figure] = replace(guessed[figure], status="assumed")
    table = {**TABLE, "kaolin": replace(TABLE["kaolin"], figures=guessed)}
    known, open_ = (
        rows_of(build(world([window("4.5", "5.5")], table=one), lenient=True), "test#ph")
        for one in (TABLE, table)
    )
    assert coef(open_["foot-any"], "kaolin") > coef(known["foot-any"], "kaolin")
    assert coef(open_["top-any"], "kaolin") < coef(known["top-any"], "kaolin")
    assert coef(open_["foot-any"], "bentonite") == coef(known["foot-any"], "bentonite")


@pytest.mark.parametrize("status", ["assumed", "memory"])
def test_what_nobody_looked_up_stands_at_its_best_in_lenient_rows(status: Status) -> None:
    guessed = {name: replace(one, status=status) for name, one in TABLE["kaolin"].figures.items()}
    table = {**TABLE, "kaolin": replace(TABLE["kaolin"], figures=guessed)}
    known, open_ = (
        rows_of(build(world([window("4.5", "5.5")], table=one), lenient=True), "test#ph")
        for one in (TABLE, table)
    )
    assert coef(open_["foot-any"], "kaolin") > coef(known["foot-any"], "kaolin")


def blend(source: str) -> Ingredient:
    """30 % benzoate, which may be 20 to 35 %."""
    parts = (Part("Sodium Benzoate", fr(30), fr(20), fr(35), source), Part("Aqua", fr(70), fr(70), fr(70)))
    return replace(TABLE["benzoate"], composition=parts)


@pytest.mark.parametrize(("source", "sure"), [("supplier: sheet", True), ("assumed: usual", False)])
def test_a_share_known_from_to_counts_at_the_end_that_hurts(source: str, sure: bool) -> None:
    table = {**TABLE, "benzoate": blend(source)}
    worst, plain = (
        rows_of(build(world([window("4.5", "5.5", worst=one)], table=table)), "test#ph")
        for one in (True, False)
    )
    assert coef(worst["foot-1"], "benzoate") < coef(plain["foot-1"], "benzoate")
    assert coef(worst["top-1"], "benzoate") > coef(plain["top-1"], "benzoate")
    strict, lenient = (
        rows_of(build(world([window("4.5", "5.5")], table=table), lenient=side), "test#ph")
        for side in (False, True)
    )
    lent = coef(lenient["foot-any"], "benzoate") / coef(strict["foot-1"], "benzoate")
    assert (lent > fr("1.6")) is not sure


def test_strict_rows_stand_off_the_ends_by_the_model_s_error_and_lenient_ones_beyond_them() -> None:
    at = Incumbent({}, fr("0.1"))
    drawn, wide = world([window("4.5", "5.5")]), world([window("4.6", "5.4")])
    strict = rows_of(build(drawn, incumbent=at), "test#ph")
    kaolin = TABLE["kaolin"].figures
    assert coef(strict["foot-1"], "kaolin") == pytest.approx(
        kaolin["buffer_slope"].high * (kaolin["powder_ph"].low - fr("4.6"))
    )
    inside, beyond = (rows_of(build(one, lenient=True), "test#ph")["foot-any"] for one in (wide, drawn))
    assert coef(beyond, "kaolin") > coef(inside, "kaolin")


def test_beside_an_acid_preservative_there_are_rows_at_the_worst_values_that_a_flag_lets_go() -> None:
    rule = replace(window("4.5", "5.5"), preservatives=("benzoate", "sorbate"))
    asked = world([rule], {"kaolin": "12", "bentonite": "3"}, come=["benzoate"])
    rows = rows_of(build(asked, incumbent=Incumbent({}, fr("0.1"))), "test#ph")
    assert {"beside-benzoate", "foot-1", "top-1", "foot-worst-1", "top-worst-1"} <= set(rows)
    assert "beside-sorbate" not in rows
    assert dict(rows["beside-benzoate"].coef) == {"y:benzoate": 1, "s:test#ph": -1}
    assert (rows["beside-benzoate"].lower, rows["beside-benzoate"].upper) == (None, fr(0))
    plain = rows_of(
        build(world([window("4.5", "5.5", worst=False)]), incumbent=Incumbent({}, fr("0.1"))), "test#ph"
    )
    worst = rows_of(build(world([window("4.5", "5.5")]), incumbent=Incumbent({}, fr("0.1"))), "test#ph")
    assert coef(rows["foot-1"], "kaolin") == coef(plain["foot-1"], "kaolin")
    assert coef(rows["foot-worst-1"], "kaolin") == coef(worst["foot-1"], "kaolin")


@pytest.mark.parametrize(("preserved", "kept"), [(False, True), (True, False)])
def test_only_beside_an_acid_preservative_does_a_wide_clay_break_the_rows(
    preserved: bool, kept: bool
) -> None:
    base = {"kaolin": "20", "bentonite": "5", **({"benzoate": "0.4"} if preserved else {})}
    probe = world([window("1", "13", worst=False)], base)
    ph = said_ph(probe)
    rule = replace(window(ph - fr("0.2"), ph + fr("0.2")), preservatives=("benzoate",))
    asked = world([rule], base, come=["benzoate"])
    shares = {**asked.base, **({} if preserved else {Slot("benzoate", B): fr(0)})}
    assert rows_kept(asked, shares, lenient=False) is kept


def said_ph(asked: Request) -> Fraction:
    grams = {slot.ingredient: share for slot, share in asked.base.items()}
    found = solve_ph(grams, profiles_for(asked.ingredients.values(), asked.substances)).ph
    assert found is not None
    return Fraction(repr(round(found, 3)))


def test_a_wish_that_is_missed_counts_in_ph() -> None:
    """1 pH beyond the window gives slacks of about 1, summed over the rows of the three strengths."""
    base = {"kaolin": "10", "citric": "2", "benzoate": "0.5"}
    ph = said_ph(world([window("1", "13")], base))
    wished = window(ph - fr("0.4"), ph - fr("0.2"), worst=False)
    wished = replace(wished, head=replace(wished.head, basis="wish", rank=1))
    model = build(world([wished], base), incumbent=Incumbent({}, fr("0.05")))
    (top,) = [row for row in model.rows if row.name.endswith("top-1")]
    per = -dict(top.coef)["w:test#ph:top-1"]
    charge = sum(value * share_of(name, base) for name, value in top.coef if name.startswith("x:"))
    assert float(charge / per) == pytest.approx(0.3, abs=0.06)


def share_of(name: str, base: dict[str, str]) -> Fraction:
    ingredient = name.removeprefix("x:").partition("@")[0]
    water = 100 - sum((Fraction(share) for share in base.values()), fr(0))
    return water if ingredient == "water" else fr(base.get(ingredient, "0"))


def test_too_many_glycols_or_salts_break_strict_rows_alone() -> None:
    for more in ({"glycerin": "20"}, {"salt": "2.5"}):
        asked = world([window("2", "11", ["citric"])], {"kaolin": "10", **more}, {"citric": "3"})
        assert not rows_kept(asked, asked.base, lenient=False), more
        assert rows_kept(asked, asked.base, lenient=True), more
    asked = world([window("2", "11", ["citric"])], {"kaolin": "10", "glycerin": "9"}, {"citric": "3"})
    assert rows_kept(asked, asked.base, lenient=False)


def test_a_clay_without_data_brings_no_coefficient() -> None:
    bare = replace(clay("kaolin", "1 1 1", "5 5 5"), figures={"water_content": ranged("0 0 0")})
    rows = rows_of(build(world([window("4.5", "5.5")], table={**TABLE, "kaolin": bare})), "test#ph")
    assert coef(rows["foot-1"], "kaolin") == 0
