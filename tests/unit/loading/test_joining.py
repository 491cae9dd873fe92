"""What is inherited, true by nature, or borrowed."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from tests.unit.loading.folders import loaded, only, problems_of, row


def test_own_flag_outranks_the_kind_and_the_kind_the_group(tmp_path: Path) -> None:
    ingredients = loaded(tmp_path).ingredients
    assert ingredients["rose-clay"].flag("tree-nut") == "contains"
    assert ingredients["kaolin"].flag("tree-nut") == "free"
    assert ingredients["almond-oil"].flag("tree-nut") == "unknown"
    assert "tree-nut" not in ingredients["almond-oil"].flags


def test_figures_carry_spread_unit_source_and_status(tmp_path: Path) -> None:
    kaolin = loaded(tmp_path).ingredients["kaolin"]
    solids, uptake, density = (kaolin.figures[name] for name in ("solids", "water_uptake", "density"))
    assert [solids.value, solids.low, solids.high] == [99, 98, 100]
    assert (solids.unit, solids.status) == ("%", "invented")
    assert (uptake.value, uptake.status) == (Fraction(1, 2), "published")
    assert (density.value, density.status) == (Fraction(13, 5), "memory")


def test_a_borrowed_figure_is_widened_inside_its_bounds_and_says_so(tmp_path: Path) -> None:
    rose = loaded(tmp_path).ingredients["rose-clay"]
    solids = rose.figures["solids"]
    assert [solids.value, solids.low, solids.high] == [99, Fraction(392, 5), 100]
    assert solids.status == "borrowed"
    assert "kaolin" in solids.source
    assert "invented demo data" in solids.source
    assert rose.figures["water_uptake"].status == "assumed"


def test_flags_and_composition_are_never_borrowed(tmp_path: Path) -> None:
    files = row("ingredients.csv", "fancy-clay,Fancy clay,,Illite,clay-swelling,,powder,,,,,,,rose-clay,")
    fancy = loaded(tmp_path, files).ingredients["fancy-clay"]
    assert fancy.flag("tree-nut") == "unknown"
    assert [part.substance for part in fancy.composition or ()] == ["Illite"]


def test_true_zeros_hold_by_nature(tmp_path: Path) -> None:
    ingredients = loaded(tmp_path).ingredients
    water = ingredients["almond-oil"].figures["water_content"]
    assert [water.value, water.low, water.high] == [0, 0, 0]
    assert water.status == "by nature"
    assert ingredients["xanthan"].figure("water_content") is None


def test_composition_is_whole_for_single_kinds_and_unknown_elsewhere(tmp_path: Path) -> None:
    ingredients = loaded(tmp_path).ingredients
    (part,) = ingredients["kaolin"].composition or ()
    assert part.substance == "Kaolin"
    assert [part.low, part.value, part.high] == [100, 100, 100]
    assert ingredients["benzoate"].composition is None
    assert ingredients["citric-acid-20"].composition is None


def test_composition_rows_may_stay_below_100(tmp_path: Path) -> None:
    rows = (
        "ingredient,substance,share,low,high,source\ncitric-acid-20,Citric Acid,20,19,21,invented demo data\n"
    )
    (part,) = loaded(tmp_path, {"composition.csv": rows}).ingredients["citric-acid-20"].composition or ()
    assert part.substance == "Citric Acid"
    assert [part.low, part.high] == [19, 21]


def test_pack_in_ml_weighs_by_density(tmp_path: Path) -> None:
    oil = loaded(tmp_path).ingredients["almond-oil"]
    assert oil.pack is not None
    assert oil.pack.grams == 450
    assert oil.price_per_kg == Fraction(8000, 450)


def test_pack_in_ml_without_density_asks_for_it(tmp_path: Path) -> None:
    problem = only(problems_of(tmp_path, row("ingredients.csv", "gel,Gel,,Gel,water,,gel,,,,250 ml,3,,,")))
    assert (problem.file, problem.line, problem.cell) == ("ingredients.csv", 10, "pack_size")
    assert "density" in problem.fix


def test_ways_are_inherited_and_the_own_row_wins(tmp_path: Path) -> None:
    rows = (
        "ingredient,stage,add_as,carried_by,carried_ratio,add_from_C,add_to_C,wait_min,needs,wear\n"
        "group:clay,powder,sieve in,,,,,15,,dust mask; gloves\n"
        "kaolin,powder,sieve in twice,,,,40,,,\n"
    )
    ingredients = loaded(tmp_path, {"process.csv": rows}).ingredients
    kaolin, rose = ingredients["kaolin"].way, ingredients["rose-clay"].way
    assert kaolin is not None
    assert rose is not None
    assert (kaolin.add_as, kaolin.wear) == ("sieve in twice", ())
    assert kaolin.add_to_c == 40
    assert (rose.add_as, rose.wear) == ("sieve in", ("dust mask", "gloves"))
    assert rose.wait_min == 15
    assert ingredients["water"].way is None


def test_a_way_is_borrowed_from_the_like_one(tmp_path: Path) -> None:
    rows = "ingredient,stage,add_as\nkaolin,powder,sieve in\n"
    way = loaded(tmp_path, {"process.csv": rows}).ingredients["rose-clay"].way
    assert way is not None
    assert way.add_as == "sieve in"


@pytest.mark.parametrize(
    ("text", "cell", "found"),
    [
        ("kaolin,solids,50,,,g,invented demo data", "unit", '"g"'),
        ("kaolin,solids,150,,,%,invented demo data", "value", '"150"'),
        ("xanthan,solids,50,60,70,%,invented demo data", "value", "50 outside 60 to 70"),
        ("xanthan,solids,,60,,%,invented demo data", "value", "one end only"),
        ("xanthan,solid,50,,,%,invented demo data", "property", '"solid"'),
        ("xanthan,solids,50,,,%,somebody said so", "source", '"somebody said so"'),
        ("kaolin,solids,98,,,%,invented demo data", "property", "another on line 2"),
        ("xantan,solids,98,,,%,invented demo data", "ingredient", '"xantan"'),
        ("kind:clay,solids,98,,,%,invented demo data", "ingredient", '"clay"'),
        ("xanthan,solids,nan,,,%,invented demo data", "value", '"nan"'),
        ("xanthan,solids,2026-05-01,,,%,invented demo data", "value", '"2026-05-01"'),
    ],
)
def test_property_faults(tmp_path: Path, text: str, cell: str, found: str) -> None:
    problem = only(problems_of(tmp_path, row("properties.csv", text)))
    assert (problem.line, problem.cell) == (8, cell)
    assert problem.found.startswith(found)


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("water,Again,,Aqua,water,,,,,,,,,,", "id"),
        ("wa-ter,Again,,Aqua,water,,,,,,,,,,", "id"),
        ("Big Id,Again,,Aqua,water,,,,,,,,,,", "id"),
        (",Nameless,,Aqua,water,,,,,,,,,,", "id"),
        ("gel,Gel,,Aqua,watr,,,,,,,,,,", "kind"),
        ("gel,Gel,,Aqua,water,solvent; solvnt,,,,,,,,,", "roles"),
        ("gel,Gel,,Aqua,water,,slush,,,,,,,,", "form"),
        ("gel,Gel,,Aqua,water,,,1,101,,,,,,", "use_max"),
        ("gel,Gel,,Aqua,water,,,-1,5,,,,,,", "use_min"),
        ("gel,Gel,,Aqua,water,,,,,,,3,,,", "pack_size"),
        ("gel,Gel,,Aqua,water,,,,,,500,3,,,", "pack_size"),
        ("gel,Gel,,Aqua,water,,,,,,,,1.5,,", "lead_days"),
        ("gel,Gel,,Aqua,water,,,,,,,,,kaolinn,", "like"),
        ("gel,Gel,,Aqua,water,,,,,,,,,gel,", "like"),
        ("gel,Gel,white clay,Aqua,water,,,,,,,,,,", "aliases"),
        ("gel,Gel,kaolin,Aqua,water,,,,,,,,,,", "aliases"),
    ],
)
def test_ingredient_faults(tmp_path: Path, text: str, cell: str) -> None:
    problem = only(problems_of(tmp_path, row("ingredients.csv", text)))
    assert (problem.file, problem.line, problem.cell) == ("ingredients.csv", 10, cell)


def test_contradicting_flags_name_both_lines(tmp_path: Path) -> None:
    problem = only(problems_of(tmp_path, row("flags.csv", "rose-clay,tree-nut,free,invented demo data,")))
    assert (problem.line, problem.cell, problem.found) == (5, "state", "free here, contains on line 4")
