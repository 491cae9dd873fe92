"""Rows of thickness: where they are written, and what the lenient ones keep."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import Request
from optimiser.domain.rules import Head, Thickness
from optimiser.lp.build import build
from optimiser.model.rows import Row
from tests.points import rows_of
from tests.workflows.desk import FLAGSHIP, asked, demo

F = Fraction
HEAD = Head("t", "Thick.")


def mask(rule: Thickness, leave_out: tuple[str, ...] = ()) -> Request:
    """The demo's mask with one rule, and without some of its ingredients."""
    made = asked(demo(), FLAGSHIP).request
    slots = tuple(slot for slot in made.slots if slot.ingredient not in leave_out)
    return replace(
        made,
        rules=(rule,),
        slots=slots,
        ingredients={s.ingredient: made.ingredients[s.ingredient] for s in slots},
    )


def rows(
    rule: Thickness, at: Incumbent | None = None, *, lenient: bool = False, out: tuple[str, ...] = ()
) -> dict[str, Row]:
    return rows_of(build(mask(rule, out), incumbent=at, lenient=lenient), "t")


def test_without_a_prediction_there_is_no_row() -> None:
    assert rows(Thickness(HEAD, F(20), F(60))) == {}


def test_a_floor_asks_for_more_gum_where_fewer_powders_help() -> None:
    """What one gram of gum counts against the water falls when the clay goes."""
    rule = Thickness(HEAD, F(60), None, predicted=True)
    at_base, bare = rows(rule), rows(rule, Incumbent({"water": F(95), "glycerin": F(5)}))

    def worth(found: dict[str, Row]) -> Fraction:
        coef = dict(found["least"].coef)
        return -coef["x:xanthan@A"] / coef["x:water@B"]

    assert worth(at_base) > 3 * worth(bare) > 0


def test_lenient_rows_have_no_floor_and_no_ceiling_beside_a_pair_with_synergy() -> None:
    rule = Thickness(HEAD, F(20), F(60), predicted=True)
    assert set(rows(rule)) == {"least", "most"}
    assert rows(rule, lenient=True) == {}
    galactomannans = ("guar", "locust-bean", "tara", "hydroxypropyl-guar")
    assert set(rows(rule, lenient=True, out=("konjac", *galactomannans))) == {"most"}


def test_water_and_powders_alone_may_be_thick_enough() -> None:
    assert rows(Thickness(HEAD, F(1, 10**4), None, predicted=True)) == {}
