"""What of a preservative reaches the water: rows and judge on a grid of points, ends and gaps."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.checks.free import free_doses
from optimiser.checks.judge import verdict_on
from optimiser.domain.ingredient import Figure, Ingredient, Part
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Reaches
from optimiser.loading.reference import load_packs
from optimiser.lp.build import build
from tests.acids import TABLE, Status, ranged, rows_kept, world
from tests.points import rows_of
from tests.small import fr, head

BINDS = {"kaolin": "0 1 3", "bentonite": "0 2 6"}
DOSES = {"benzoate": "0.02 0.03 0.05", "sorbate": "0.015 0.02 0.03"}
TOP = fr("5.5")


def table(binding: Status = "assumed", doses: Status = "measured") -> dict[str, Ingredient]:
    """The small table with binding, least free doses, a neutral preservative and an oil."""
    whole = {
        **TABLE,
        "phenox": replace(TABLE["glycerin"], id="phenox", group="preservative", kind="preservative-neutral"),
        "oil": replace(TABLE["glycerin"], id="oil", group="oil", kind="oil"),
    }
    found = {}
    for name, one in whole.items():
        water = "100" if name == "water" else "0"
        figures: dict[str, Figure] = {
            **one.figures,
            "water_content": ranged(f"{water} {water} {water}"),
            "density": ranged("0.9 0.9 0.9"),
            "preservative_binding": ranged(BINDS.get(name, "0 0 0"), "ml/g", binding),
        }
        if name in DOSES:
            figures["free_dose_mould"] = ranged(DOSES[name], "%", doses)
            figures["oil_partition"] = ranged("3 6 9", "", binding)
        if name == "phenox":
            figures["free_dose_mould"] = ranged("0.4 0.5 0.7", "%", doses)
            figures["oil_partition"] = ranged("0 0 0")
        found[name] = replace(one, id=name, figures=figures)
    return found


def reaches(*, surely: bool = False, top: Fraction | None = TOP) -> Reaches:
    return Reaches(replace(head("ph"), surely=surely), "mould", top)


def asked(
    rule: Reaches, base: Mapping[str, str | Fraction], made: Mapping[str, Ingredient] | None = None
) -> Request:
    return replace(world([rule], base, table=made or table()), ph_window=(fr("4.5"), TOP))


def said(one: Request) -> Verdict:
    (rule,) = one.rules
    return verdict_on(rule, amounts(one), one)


def amounts(one: Request) -> Amounts:
    return Amounts(tuple(sorted(one.base.items())), one.ingredients)


NAMES = ("kaolin", "benzoate", "sorbate", "phenox", "oil")
STEPS = ("0", "5", "20"), ("0", "0.3", "0.9"), ("0", "0.1", "0.5"), ("0", "0.6"), ("0", "8")
GRID = [dict(zip(NAMES, point, strict=True)) for point in itertools.product(*STEPS)]


@pytest.mark.parametrize("surely", [False, True])
def test_rows_and_judge_agree_on_a_grid_of_points(surely: bool) -> None:
    met = []
    for point in GRID:
        one = asked(reaches(surely=surely), {name: share for name, share in point.items() if share != "0"})
        verdict = said(one)
        assert rows_kept(one, one.base, lenient=False) is verdict.met, point
        assert rows_kept(one, one.base, lenient=True) or not verdict.met, point
        met.append(verdict.met)
    assert 10 < sum(met) < len(GRID) - 10


def test_the_free_dose_of_one_salt_by_hand() -> None:
    """0.5 g in 79.5 ml of water and 20 g of clay that holds 1 ml/g, at pH 5.5; pKa' = 4.76 - 0.107."""
    one = asked(reaches(), {"kaolin": "20", "sorbate": "0.5"})
    share = 1 / (1 + 10 ** (5.5 - 4.76 + 0.107))
    by_hand = 0.5 / ((79.5 + 20) / share) / 0.0002
    assert float(said(one).value or 0) == pytest.approx(by_hand, rel=2e-3)


def test_the_worst_ends_make_less_of_it_than_the_middle_and_surely_asks_for_them() -> None:
    base = {"kaolin": "20", "sorbate": "0.5"}
    plain, surely = said(asked(reaches(), base)), said(asked(reaches(surely=True), base))
    found = free_doses("mould", amounts(asked(reaches(), base)), asked(reaches(), base))
    assert found is not None
    assert found.low < found.value < found.high
    assert (plain.value, surely.value) == (found.value, found.low)


def test_at_worst_the_one_that_is_best_at_worst_counts() -> None:
    """Sorbate is the better by its middle value; its own range is wide, that of the neutral one is not."""
    made = table()
    wide = {**made["sorbate"].figures, "free_dose_mould": ranged("0.001 0.01 0.9", "%")}
    tight = {**made["phenox"].figures, "free_dose_mould": ranged("0.4 0.4 0.4", "%")}
    made |= {
        "sorbate": replace(made["sorbate"], figures=wide),
        "phenox": replace(made["phenox"], figures=tight),
    }
    one = asked(reaches(surely=True), {"sorbate": "0.5", "phenox": "0.6"}, made)
    assert free_doses("mould", amounts(one), one).ingredient.id == "sorbate"  # type: ignore[union-attr]
    assert said(one).met
    assert rows_kept(one, one.base, lenient=False)


def test_the_top_of_the_rule_s_own_window_counts() -> None:
    low, high = (
        said(asked(reaches(top=fr(top)), {"kaolin": "5", "sorbate": "0.5"})).value for top in ("4", "6")
    )
    assert low is not None
    assert high is not None
    assert low > 3 * high


def test_without_a_ph_no_acid_counts_and_what_is_no_acid_does() -> None:
    acid = asked(reaches(top=None), {"sorbate": "0.8"})
    neutral = asked(reaches(top=None), {"phenox": "0.9"})
    beside = asked(reaches(top=None), {"benzoate": "0.8", "phenox": "0.9", "sorbate": "0.8"})
    for one, expected in ((acid, False), (neutral, True), (beside, True)):
        assert said(one).met is expected
        assert rows_kept(one, one.base, lenient=False) is expected


@pytest.mark.parametrize(("status", "proves"), [("assumed", False), ("measured", True)])
def test_assumed_binding_proves_nothing_impossible_and_measured_does(status: Status, proves: bool) -> None:
    one = asked(reaches(surely=True), {"kaolin": "20", "bentonite": "8", "sorbate": "0.2"}, table(status))
    assert not said(one).met
    assert not rows_kept(one, one.base, lenient=False)
    assert rows_kept(one, one.base, lenient=True) is not proves


def test_an_assumed_least_dose_proves_nothing_either() -> None:
    for status in ("assumed", "measured"):
        one = asked(reaches(surely=True), {"sorbate": "0.14"}, table("measured", status))
        assert not said(one).met
        assert rows_kept(one, one.base, lenient=True) is (status == "assumed")


def test_what_is_not_known_of_a_line_is_neither_met_nor_impossible() -> None:
    made = table()
    gap = {k: v for k, v in made["kaolin"].figures.items() if k != "preservative_binding"}
    made["kaolin"] = replace(made["kaolin"], figures=gap)
    one = asked(reaches(), {"kaolin": "2", "sorbate": "0.6"}, made)
    verdict = said(one)
    assert not verdict.met
    assert "not known" in verdict.note
    assert not rows_kept(one, one.base, lenient=False)
    assert rows_kept(one, one.base, lenient=True)
    without = {slot: share for slot, share in one.base.items() if slot.ingredient != "kaolin"}
    assert rows_kept(one, {**without, one.filler: fr("99.4")}, lenient=False)


def test_oil_and_what_mixes_with_water_take_their_part() -> None:
    """Oil holds some back where little is split; glycerin in place of water concentrates nothing."""
    plain, oily, sweet = (
        said(asked(reaches(top=fr(4)), {"sorbate": "0.5", **more})).value
        for more in ({}, {"oil": "8"}, {"glycerin": "8"})
    )
    assert plain is not None
    assert oily is not None
    assert oily < plain
    assert sweet == plain


def test_a_yes_or_no_for_each_preservative_that_counts() -> None:
    one = asked(reaches(), {"kaolin": "5", "sorbate": "0.3", "benzoate": "0.3", "oil": "1"})
    rows = rows_of(build(one), "test#ph")
    assert set(rows) == {"benzoate", "sorbate", "one"}
    assert Slot("oil", "B") in one.base


def blended() -> dict[str, Ingredient]:
    """A polyol with 24 % potassium sorbate (20 at the least) and 8 % sorbic acid, with no dose of its own."""
    made = table()
    parts = (
        Part("Glycerin", fr(60), fr(60), fr(60)),
        Part("Potassium Sorbate", fr(24), fr(20), fr(28)),
        Part("Sorbic Acid", fr(8), fr(8), fr(8)),
    )
    figures = {
        "water_content": ranged("0 0 0"),
        "preservative_binding": ranged("0 0 0"),
        "density": ranged("1 1 1"),
    }
    blend = replace(TABLE["glycerin"], id="blend", name="Blend", composition=parts, figures=figures)
    return {**made, "blend": blend}


def test_a_blend_counts_by_each_of_its_substances_at_its_low_content() -> None:
    """3 g of the blend hold 0.6 g of sorbate and 0.24 g of sorbic acid, worth 0.24 * 150.218 / 112.128."""
    made = blended()
    one = replace(asked(reaches(), {"blend": "3"}, made), lenders=made)
    alike = 0.6 + 0.24 * 150.218 / 112.128
    share = 1 / (1 + 10 ** (5.5 - 4.76 + 0.107))
    by_hand = alike / (100 / share) / 0.0002
    verdict = said(one)
    assert float(verdict.value or 0) == pytest.approx(by_hand, rel=2e-3)
    assert "Sorbate in Blend" in verdict.note
    assert rows_kept(one, one.base, lenient=False) is verdict.met
    assert said(asked(reaches(), {"blend": "3"}, made)).value is None


@pytest.mark.parametrize("surely", [False, True])
def test_rows_and_judge_agree_on_blends_in_every_pack(surely: bool) -> None:
    made, met = blended(), []
    packs = [None, *(load_packs()[name] for name in ("glass", "polyethylene", "silicone"))]
    for pack, blend, salt, clay_share in itertools.product(
        packs, ("0", "1", "3", "6"), ("0", "0.4"), ("0", "15")
    ):
        base = {"blend": blend, "sorbate": salt, "kaolin": clay_share}
        plain = asked(reaches(surely=surely), {k: v for k, v in base.items() if v != "0"}, made)
        one = replace(plain, lenders=made, container=pack)
        verdict = said(one)
        assert rows_kept(one, one.base, lenient=False) is verdict.met, (pack, base)
        assert rows_kept(one, one.base, lenient=True) or not verdict.met
        met.append(verdict.met)
    assert 5 < sum(met) < len(met) - 5


def test_a_pack_takes_its_part_of_what_is_undissociated() -> None:
    """Silicone around 100 g is worth 40 ml to the free acid beside 99.5 ml of water."""
    made = table()
    plain = asked(reaches(top=fr(3)), {"phenox": "0.5"}, made)
    glass, silicone = (replace(plain, container=load_packs()[name]) for name in ("glass", "silicone"))
    assert said(glass).value == said(plain).value
    kept = (said(silicone).value or 0) / (said(plain).value or 1)
    assert float(kept) == pytest.approx(99.5 / 139.5)
    assert "the pack (silicone)" in said(silicone).note
    assert "no pack is stated" in said(plain).note


def test_a_ratio_between_oil_and_water_that_nobody_knows_counts_as_nothing_and_proves_nothing() -> None:
    made = table()
    gap = {k: v for k, v in made["sorbate"].figures.items() if k != "oil_partition"}
    one = asked(reaches(), {"sorbate": "0.9"}, {**made, "sorbate": replace(made["sorbate"], figures=gap)})
    assert not said(one).met
    assert not rows_kept(one, one.base, lenient=False)
    assert rows_kept(one, one.base, lenient=True)
