"""Rows of a predicted pH window: which lines they speak of, where they are strict and where lenient."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import Slot
from optimiser.domain.rules import Acidity
from optimiser.lp.build import build
from optimiser.model.rows import Row
from tests.acids import TABLE, clay, ranged, rows_kept, window, world
from tests.points import rows_of
from tests.small import fr, head

B = "B"


def coef(row: Row, name: str) -> Fraction:
    return dict(row.coef).get(f"x:{Slot(name, B)}", Fraction(0))


def test_by_reading_alone_there_is_but_one_row() -> None:
    asked = world([Acidity(head("ph"), fr(4), fr(5))], dosed={"citric": "3"})
    assert set(rows_of(build(asked), "test#ph")) == {"adjuster"}


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
