"""A whole folder: settings, clashes, shelf, what is missing, and the demo."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.selector import Pick
from optimiser.domain.worktable import Balance, Condition
from optimiser.loading.worktable import load_worktable
from tests.unit.loading.folders import MASK, SOUND, loaded, only, problems_of, write

DEMO = Path(__file__).parents[3] / "ingredient_data_demo"
CLASH_HEAD = "id,a,b,when,strength,why,source\n"
SHELF_HEAD = "ingredient,lot,amount,unit_price,opened,expires,papers\n"


def test_the_demo_has_no_problem() -> None:
    worktable, problems = load_worktable(DEMO)
    assert [problem.sentence() for problem in problems] == []
    assert worktable is not None
    assert len(worktable.ingredients) >= 80
    assert worktable.formulas
    assert worktable.briefs


def test_settings(tmp_path: Path) -> None:
    text = (
        SOUND["worktable.yaml"]
        + "balances:\n  - {reads: 1 g, up_to: 5 kg}\n  - {reads: 0.01 g, up_to: 200 g}\n"
    )
    settings = loaded(tmp_path, {"worktable.yaml": text}).settings
    assert (settings.name, settings.currency, settings.jurisdiction) == ("Test bench", "EUR", "EU")
    assert (settings.rules_date, settings.decimal) == (date(2026, 11, 1), "point")
    assert settings.batch_g == 250
    fine, coarse = Balance(Fraction(1, 100), Fraction(200)), Balance(Fraction(1), Fraction(5000))
    assert settings.balances == (fine, coarse)


@pytest.mark.parametrize(
    ("old", "new", "line", "found"),
    [
        ("2026-11-01", "2026-13-01", 4, '"2026-13-01"'),
        ("jurisdiction: EU", "jurisdiction: XX", 3, '"XX"'),
        ("currency: EUR", "currency: euro", 2, '"euro"'),
        ("decimal: point", "decimal: dot", 5, '"dot"'),
        ("batch: 250 g", "batch: 250", 6, '"250"'),
        ("batch: 250 g", "batch: 0 g", 6, '"0 g"'),
        ("batch: 250 g", "bach: 250 g", 6, '"bach"'),
        ("batch: 250 g", "balances: [{reads: 5 g, up_to: 1 g}]", 6, "up_to below reads"),
    ],
)
def test_settings_faults(tmp_path: Path, old: str, new: str, line: int, found: str) -> None:
    problem = only(problems_of(tmp_path, {"worktable.yaml": SOUND["worktable.yaml"].replace(old, new)}))
    assert (problem.file, problem.line, problem.found) == ("worktable.yaml", line, found)


@pytest.mark.parametrize(("decimal", "other", "wrong"), [("point", "comma", ","), ("comma", "point", ".")])
def test_numbers_with_the_other_mark_name_the_setting_where_they_are_several(
    tmp_path: Path, decimal: str, other: str, wrong: str
) -> None:
    settings = SOUND["worktable.yaml"].replace("decimal: point", f"decimal: {decimal}")
    right = "." if decimal == "point" else ","
    head = "ingredient,property,value,low,high,unit,source\n"
    rows = [f'{name},density,"1{wrong}26",,,g/ml,assumed\n' for name in ("kaolin", "glycerin")]
    table = SOUND["ingredients.csv"].replace("0.1,1,", "1,1,").replace("0.2,0.5,", "1,2,")
    table = table.replace("500 ml", "500 g")
    table = re.sub(r"([0-9])\.([0-9]{2}),", rf'"\1{right}\2",', table)
    files = {"worktable.yaml": settings, "ingredients.csv": table}
    alone = only(problems_of(tmp_path, {**files, "properties.csv": head + rows[0]}))
    assert alone.fix == f"write 1{right}26"
    both = problems_of(tmp_path, {**files, "properties.csv": head + "".join(rows)})
    told = f"write 1{right}26; where all are written so, write decimal: {other} in worktable.yaml"
    assert [one.fix for one in both] == [told, told]


def test_clashes(tmp_path: Path) -> None:
    rows = (
        CLASH_HEAD
        + "gum-acid,kind:gum,substance:citric acid,use=leave-on and ph_high<6.5,must,Thins.,common practice\n"
    )
    (clash,) = loaded(tmp_path, {"clashes.csv": rows}).clashes
    assert (clash.a, clash.b, clash.strength) == (
        Pick("kind", "gum"),
        Pick("substance", "Citric Acid"),
        "must",
    )
    assert clash.when == (Condition("use", "=", "leave-on"), Condition("ph_high", "<", "6.5"))
    assert clash.place.line == 2


def test_a_clash_that_matches_nothing_here_is_no_problem(tmp_path: Path) -> None:
    rows = CLASH_HEAD + "chalk,kind:clay-carbonate,role:neutraliser,,note,Gas.,common practice\n"
    assert len(loaded(tmp_path, {"clashes.csv": rows}).clashes) == 1


@pytest.mark.parametrize(
    ("text", "cell", "found"),
    [
        ("x,kind:gumm,kind:acid,,must,Why.,source", "a", '"gumm"'),
        ("x,gum,kind:acid,,must,Why.,source", "a", '"gum"'),
        ("x,kind:gum,ingredient:kaolim,,must,Why.,source", "b", '"kaolim"'),
        ("x,kind:gum,kind:acid,,never,Why.,source", "strength", '"never"'),
        ("x,kind:gum,kind:acid,use is leave-on,must,Why.,source", "when", '"use is leave-on"'),
        ("x,kind:gum,kind:acid,usage=leave-on,must,Why.,source", "when", '"usage"'),
        ("x,kind:gum,kind:acid,ph_low<acid,must,Why.,source", "when", '"acid"'),
        ("x,kind:gum,kind:acid,form<gel,must,Why.,source", "when", '"<"'),
        ("x,kind:gum,kind:acid,water=some,must,Why.,source", "when", '"some"'),
        ("x,kind:gum,kind:acid,,must,,source", "why", "an empty cell"),
        ("X Y,kind:gum,kind:acid,,must,Why.,source", "id", '"X Y"'),
    ],
)
def test_clash_faults(tmp_path: Path, text: str, cell: str, found: str) -> None:
    problem = only(problems_of(tmp_path, {"clashes.csv": CLASH_HEAD + text + "\n"}))
    assert (problem.line, problem.cell, problem.found) == (2, cell, found)


def test_shelf(tmp_path: Path) -> None:
    rows = (
        SHELF_HEAD
        + "white clay,K-1,0.8 kg,4.00,2026-05-02,2029-05-01,analysis; allergens\nalmond-oil,A,100 ml,,,,\n"
    )
    clay, oil = loaded(tmp_path, {"shelf.csv": rows}).shelf
    assert (clay.ingredient, clay.lot, clay.papers) == ("kaolin", "K-1", ("analysis", "allergens"))
    assert [clay.grams, clay.price_per_kg] == [800, 4]
    assert (clay.opened, clay.expires) == (date(2026, 5, 2), date(2029, 5, 1))
    assert oil.grams == 90
    assert (oil.price_per_kg, oil.expires) == (None, None)


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("kaolin,K-1,800,,,,", "amount"),
        ("kaolin,K-1,-8 g,,,,", "amount"),
        ("kaolin,,8 g,,,,", "lot"),
        ("kaolin,K-1,8 g,x,,,", "unit_price"),
        ("kaolin,K-1,8 g,,1.5.2026,,", "opened"),
        ("kaolin,K-1,8 g,,2026-02-30,,", "opened"),
        ("kaolin,K-1,8 g,,2026-05-01,2026-04-01,", "expires"),
        ("kaolin,K-1,8 g,,,,\nkaolin,K-1,9 g,,,,", "lot"),
        ("kaolim,K-1,8 g,,,,", "ingredient"),
        ("water,W,8 ml,,,,", "amount"),
    ],
)
def test_shelf_faults(tmp_path: Path, text: str, cell: str) -> None:
    problem = only(problems_of(tmp_path, {"shelf.csv": SHELF_HEAD + text + "\n"}))
    assert problem.cell == cell


def test_the_decimal_comma_counts_in_every_file(tmp_path: Path) -> None:
    files = {
        **dict.fromkeys(SOUND),
        "worktable.yaml": SOUND["worktable.yaml"].replace("point", "comma").replace("250 g", "0,25 kg"),
        "ingredients.csv": (
            "id;name;inci;kind;use_max;pack_size;pack_price\n"
            "water;Water;Aqua;water;99;10 kg;9,50\nkaolin;Kaolin;Kaolin;clay-plain;40,5;0,5 kg;4\n"
        ),
        "properties.csv": "ingredient;property;value;unit;source\nkaolin;density;2,6;g/ml;memory: handbook\n",
        "formulas/mask.yaml": 'name: M\nphases:\n  - {phase: A, lines: [water: to 100 %, kaolin: "3,5 %"]}\n',
    }
    worktable = loaded(tmp_path, files)
    assert worktable.ingredients["kaolin"].use_max == Fraction(81, 2)
    assert worktable.ingredients["water"].price_per_kg == Fraction(19, 20)
    assert worktable.ingredients["kaolin"].figures["density"].value == Fraction(13, 5)
    assert worktable.formulas["mask"].phases[0].lines[1].percent == Fraction(7, 2)


def test_a_folder_that_is_none(tmp_path: Path) -> None:
    (problem,) = load_worktable(tmp_path / "nothing")[1]
    assert problem.found == "nothing"
    (tmp_path / "file").write_text("")
    assert load_worktable(tmp_path / "file")[1][0].found == "a file"


def test_missing_files_are_named_and_the_rest_is_checked(tmp_path: Path) -> None:
    files = dict.fromkeys(SOUND) | {"briefs/b.yaml": "name: B\naim: cheapst\n"}
    found = [(problem.file, problem.line) for problem in problems_of(tmp_path, files)]
    assert found == [("worktable.yaml", None), ("ingredients.csv", None), ("briefs/b.yaml", 2)]


def test_without_readable_ingredients_their_names_are_not_blamed(tmp_path: Path) -> None:
    files = {"ingredients.csv": "identifier,name\n", "formulas/mask.yaml": MASK}
    assert {problem.file for problem in problems_of(tmp_path, files)} == {"ingredients.csv"}


@pytest.mark.parametrize("table", [None, "", SOUND["ingredients.csv"].splitlines()[0] + "\n"])
def test_what_hangs_on_the_ingredients_is_not_blamed_when_there_are_none(
    tmp_path: Path, table: str | None
) -> None:
    clash = CLASH_HEAD + "gum-guar,substance:Xanthan Gum,substance:Guar Gum,,note,They gel,memory\n"
    mask = MASK.replace("phases:", "hero: [kaolin]\nphases:", 1)
    files = {"ingredients.csv": table, "clashes.csv": clash, "formulas/mask.yaml": mask}
    assert only(problems_of(tmp_path, files)).file == "ingredients.csv"


def test_a_folder_named_like_the_table_is_called_one(tmp_path: Path) -> None:
    (tmp_path / "ingredients.csv").mkdir()
    found = only(problems_of(tmp_path, {"ingredients.csv": None})).found
    assert found == "a folder of that name"


def test_a_near_file_name_is_offered(tmp_path: Path) -> None:
    problem = only(
        problems_of(
            tmp_path,
            {
                "property.csv": "a\n",
                "properties.csv": None,
                "ingredients.csv": SOUND["ingredients.csv"].replace("500 ml", "500 g"),
            },
        )
    )
    assert (problem.file, problem.fix) == ("property.csv", 'did you mean "properties"?')


def test_one_formula_a_name(tmp_path: Path) -> None:
    table = "phase,ingredient,amount\nA,water,to 100 %\n"
    problem = only(problems_of(tmp_path, {"formulas/mask.yaml": MASK, "formulas/mask.csv": table}))
    assert (problem.file, problem.found) == ("formulas/mask.yaml", "formulas/mask.csv too")


def test_other_files_and_hidden_ones_are_left_alone(tmp_path: Path) -> None:
    loaded(
        tmp_path, {"README.md": "# x", ".hidden.csv": "x", "formulas/.draft.yaml": "x: [", "notes.txt": "x"}
    )


def test_the_digest_follows_names_and_bytes_of_what_is_read(tmp_path: Path) -> None:
    first = loaded(tmp_path / "a", {"formulas/mask.yaml": MASK})
    again = loaded(tmp_path / "b", {"formulas/mask.yaml": MASK, "README.md": "more"})
    other = loaded(tmp_path / "c", {"formulas/mask.yaml": MASK + "# more\n"})
    renamed = loaded(tmp_path / "d", {"formulas/mask-2.yaml": MASK})
    assert first.digest == again.digest
    assert len({first.digest, other.digest, renamed.digest}) == 3


def test_the_same_folder_gives_the_same_worktable(tmp_path: Path) -> None:
    folder = write(tmp_path, {"formulas/mask.yaml": MASK})
    assert load_worktable(folder) == load_worktable(folder)


def test_the_order_of_rows_does_not_matter(tmp_path: Path) -> None:
    head, *rows = SOUND["ingredients.csv"].splitlines()
    turned = "\n".join([head, *reversed(rows)]) + "\n"
    one, other = (
        loaded(tmp_path / name, {"ingredients.csv": text}).ingredients
        for name, text in (("a", SOUND["ingredients.csv"]), ("b", turned))
    )
    assert list(one) == list(other)
    assert all(replace(one[name], place=other[name].place) == other[name] for name in one)


@pytest.mark.parametrize(("slip", "meant"), [("Linalol", "Linalool"), ("Limonenne", "Limonene")])
def test_a_slip_of_one_letter_does_not_let_a_substance_escape(tmp_path: Path, slip: str, meant: str) -> None:
    rows = f"ingredient,substance,share,source\ncitric-acid-20,{slip},1,invented demo data\n"
    problem = only(problems_of(tmp_path / "a", {"composition.csv": rows}))
    assert (problem.line, problem.cell, problem.found) == (2, "substance", f'"{slip}"')
    assert problem.fix.startswith(f'did you mean "{meant}"?')
    own = f"substance,source\n{slip},invented demo data\n"
    loaded(tmp_path / "b", {"composition.csv": rows, "substances.csv": own})


def test_a_name_of_its_own_is_no_slip(tmp_path: Path) -> None:
    rows = "ingredient,substance,share,source\ncitric-acid-20,Ascorbic Acid,1,invented demo data\n"
    loaded(tmp_path, {"composition.csv": rows})


@pytest.mark.parametrize("name", ["formulas/bad.yaml", "formulas/bad.csv", "briefs/bad.yml", "flags.csv"])
def test_a_folder_named_as_a_file_is_told(tmp_path: Path, name: str) -> None:
    files: dict[str, str | bytes | None] = {name: None}
    (tmp_path / name).mkdir(parents=True)
    problem = only(problems_of(tmp_path, files))
    assert (problem.file, problem.expected, problem.found) == (name, "a file", "a folder of that name")


def test_other_folders_are_left_alone(tmp_path: Path) -> None:
    for name in ("formulas/older", "formulas/.bad.yaml", "papers.csv", "notes"):
        (tmp_path / name).mkdir(parents=True)
    loaded(tmp_path)
