"""Formulas: sums, grams, fillers, dosed lines, steps and heroes."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.domain.formula import Dosed, Formula
from optimiser.units.numbers import show_number
from tests.unit.loading.folders import MASK, loaded, only, problems_of


def formula(folder: Path, text: str, name: str = "formulas/mask.yaml") -> Formula:
    return loaded(folder, {name: text}).formulas["mask"]


def shares(found: Formula) -> list[tuple[str, str, str]]:
    """(phase, ingredient, percent as a plain number)."""
    return [(phase, line.ingredient, show_number(line.percent)) for phase, line in found.lines]


def with_lines(*lines: str, more: str = "") -> str:
    listed = "".join(f"      - {{{line}}}\n" for line in lines)
    return f"name: Mask\n{more}phases:\n  - phase: A\n    lines:\n{listed}"


def test_the_filler_takes_the_rest(tmp_path: Path) -> None:
    found = formula(tmp_path, MASK)
    assert shares(found) == [
        ("A", "glycerin", "5"),
        ("A", "xanthan", "0.4"),
        ("B", "water", "74.6"),
        ("B", "kaolin", "20"),
    ]
    assert [line.ingredient for _, line in found.lines if line.fills] == ["water"]
    assert (found.product.use, found.product.area, found.note) == ("rinse-off", "face", "")
    assert found.batch_g == 250
    assert found.place.file == "formulas/mask.yaml"
    assert found.phases[1].lines[0].place.line == 10


def test_a_dosed_line_counts_its_ceiling(tmp_path: Path) -> None:
    found = formula(tmp_path, with_lines("water: to 100 %", 'citric-acid-20: "to pH 5.0, at most 3 %"'))
    filler, acid = found.phases[0].lines
    assert acid.dosed == Dosed("pH 5.0")
    assert [filler.percent, acid.percent] == [97, 3]


def test_names_and_aliases_become_ids(tmp_path: Path) -> None:
    found = formula(
        tmp_path, with_lines("Distilled Water: to 100 %", "china clay: 5 %", more="hero: [white clay]\n")
    )
    assert shares(found) == [("A", "water", "95"), ("A", "kaolin", "5")]
    assert found.hero == ("kaolin",)


def test_grams_sum_to_the_batch(tmp_path: Path) -> None:
    found = formula(tmp_path, with_lines("water: 200 g", "kaolin: 40 g", "glycerin: 10 g"))
    assert shares(found) == [("A", "water", "80"), ("A", "kaolin", "16"), ("A", "glycerin", "4")]
    assert found.batch_g == 250
    assert "water, the largest, fills up" in found.note
    assert [line.fills for _, line in found.lines] == [True, False, False]


def test_grams_go_onto_the_grid_with_the_filler_taking_the_rest(tmp_path: Path) -> None:
    found = formula(
        tmp_path, with_lines("water: to 100 %", "kaolin: 1 oz", "xanthan: 1 g", more="batch: 300 g\n")
    )
    assert shares(found) == [
        ("A", "water", "90.217"),
        ("A", "kaolin", "9.45"),
        ("A", "xanthan", "0.333"),
    ]
    assert "steps of 0.001 %" in found.note


def test_normalise_scales_to_100(tmp_path: Path) -> None:
    found = formula(tmp_path, with_lines("water: 60 %", "kaolin: 20 %", more="normalise: yes\n"))
    assert shares(found) == [("A", "water", "75"), ("A", "kaolin", "25")]
    assert "summed to 80 %" in found.note


def test_an_ingredient_may_stand_in_several_phases(tmp_path: Path) -> None:
    text = MASK.replace("{kaolin: 20 %}", "{glycerin: 2 %}")
    assert [share[:2] for share in shares(formula(tmp_path, text))][0::3] == [
        ("A", "glycerin"),
        ("B", "glycerin"),
    ]


@pytest.mark.parametrize(
    ("ending", "text"),
    [
        ("csv", "phase,ingredient,amount\nA,glycerin,5 %\n,xanthan,0.4 %\nB,water,to 100 %\nB,kaolin,20 %\n"),
        ("csv", "phase;ingredient;amount [%]\nA;glycerin;5\n;xanthan;0.4\nB;water;to 100 %\nB;kaolin;20\n"),
        (
            "csv",
            "phase\tingredient\tamount [g]\nA\tglycerin\t5\n\txanthan\t.4\nB\twater\t74.6\nB\tkaolin\t20\n",
        ),
    ],
)
def test_formulas_from_tables(tmp_path: Path, ending: str, text: str) -> None:
    found = formula(tmp_path, text, f"formulas/mask.{ending}")
    assert shares(found) == [
        ("A", "glycerin", "5"),
        ("A", "xanthan", "0.4"),
        ("B", "water", "74.6"),
        ("B", "kaolin", "20"),
    ]
    assert found.product.use == "leave-on"


@pytest.mark.parametrize(
    ("text", "line", "found"),
    [
        (with_lines("water: 60 %", "kaolin: 20 %"), 2, "80 %"),
        (with_lines("water: to 100 %", "kaolin: 60 %", "glycerin: 60 %"), 5, "the other lines sum to 120 %"),
        (with_lines("water: to 100 %", "kaolin: to 100 %"), 6, "another one"),
        (with_lines("water: to 100 %", "kaolin: 5 g", "glycerin: 5 %"), 7, "both in one formula"),
        (with_lines("water: to 100 %", "kaolin: 5 g"), 2, "no batch"),
        (with_lines("water: 200 g", "kaolin: 40 g", more="batch: 250 g\n"), 3, "240 g"),
        (with_lines("water: to 100 %", "kaolin: 0.0005 %"), 6, "0.0005 %"),
        (with_lines("water: to 100 %", "kaolin: 0 %"), 6, '"0 %"'),
        (with_lines("water: to 100 %", "kaolin: 5"), 6, '"5"'),
        (with_lines("water: to 100 %", "kaolin: 3,5 %"), 6, "a mapping"),
        (with_lines("water: to 100 %", 'kaolin: "3,5 %"'), 6, '"3,5 %"'),
        (with_lines("water: to 100 %", "glycerin: 250 ml"), 6, '"250 ml"'),
        (with_lines("water: to 100 %", "kaolin: to pH 5"), 6, '"to pH 5"'),
        (with_lines("water: to 100 %", 'kaolin: "to pH 15, at most 3 %"'), 6, '"15"'),
        (with_lines("water: to 100 %", "kaolinn: 5 %"), 6, '"kaolinn"'),
        (
            with_lines("water: to 100 %", "kaolin: 5 %", "kaolin: 6 %"),
            7,
            "it a second time (first on line 6)",
        ),
        (with_lines("water: to 100 %", "kaolin: 5 %", more="hero: [rose-clay]\n"), 2, '"rose-clay"'),
        (with_lines("water: to 100 %", more="heroes: [water]\n"), 2, '"heroes"'),
        (with_lines("water: to 100 %", more="product: {use: leave-in}\n"), 2, '"leave-in"'),
        (MASK + "    steps:\n      - {about: [rose-clay], text: Stir.}\n", 13, '"rose-clay"'),
        (MASK + "  - phase: A\n    lines: [{rose-clay: 1 %}]\n", 12, "it a second time"),
        ("name: Nothing\n", 1, "none"),
        ("name: Nothing\nphases: []\n", 2, "none"),
    ],
)
def test_faults(tmp_path: Path, text: str, line: int, found: str) -> None:
    problem = only(problems_of(tmp_path, {"formulas/mask.yaml": text}))
    assert (problem.file, problem.line) == ("formulas/mask.yaml", line), problem.sentence()
    assert found in problem.found, problem.sentence()


@pytest.mark.parametrize(
    ("right", "wrong", "found"), [("kaolin: 20 %", "kaolinn: 20 %", "kaolinn"), ("20 %}", "much}", "much")]
)
def test_a_line_with_a_fault_is_not_missed_again_where_a_step_names_it(
    tmp_path: Path, right: str, wrong: str, found: str
) -> None:
    named = wrong.partition(":")[0] if "kaolin" in wrong else "kaolin"
    steps = "".join(f"      - {{about: [{named}], text: {word}.}}\n" for word in ("Sieve", "Stir"))
    text = MASK.replace("phases:", f"hero: [{named}]\nphases:").replace(right, wrong) + "    steps:\n" + steps
    assert only(problems_of(tmp_path, {"formulas/mask.yaml": text})).found == f'"{found}"'
    missed = text.replace("about: [", "about: [rose-clay, ", 1)
    faults = problems_of(tmp_path, {"formulas/mask.yaml": missed})
    assert [one.found for one in faults] == [f'"{found}"', '"rose-clay"']
