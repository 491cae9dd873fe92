"""The table of ingredients changed: planned, checked by the readers, written whole, taken back."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.domain.changes import CellChange, Wish
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.files.atomic import write_atomic
from optimiser.loading.worktable import load_worktable
from optimiser.workflows import table as module
from optimiser.workflows.table import (
    FILE,
    ChangedMeanwhileError,
    Rewritten,
    apart,
    open_table,
    plan,
    take_back,
    write,
)
from optimiser.workflows.table_import import bring
from tests.unit.loading.folders import MASK, SOUND, loaded
from tests.unit.loading.folders import write as put

BROKEN_FORMULA = MASK.replace("kaolin: 20 %", "kaolinite: 20 %")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return put(tmp_path / "bench", {"formulas/mask.yaml": MASK})


def read(folder: Path, name: str = FILE) -> str:
    return (folder / name).read_bytes().decode()


def test_a_plan_writes_nothing_and_says_all(folder: Path) -> None:
    planned = plan(folder, [Wish("kaolin", {"pack_price": "4.50"})])
    assert planned.problems == ()
    (change,) = planned.changes
    assert (change.file, change.rows[0].name) == (FILE, "kaolin")
    assert change.rows[0].cells == (CellChange("pack_price", "4.00", "4.50"),)
    assert read(folder) == SOUND[FILE]
    write(folder, planned)
    assert read(folder) == SOUND[FILE].replace("4.00", "4.50")
    assert loaded(folder, {FILE: read(folder)}).ingredients["kaolin"].pack is not None


def test_the_last_number_with_the_other_mark_is_no_new_problem_once_the_first_is_mended(folder: Path) -> None:
    put(folder, {FILE: SOUND[FILE].replace("9.00", '"9,60"').replace("4.00", '"4,60"')})
    planned = plan(folder, [Wish("water", {"pack_price": "9.60"})])
    assert planned.problems == ()
    write(folder, planned)
    assert {one.fix for one in load_worktable(folder)[1]} == {"write 4.60"}


def test_problems_are_those_of_the_readers_and_stand_at_their_cell(folder: Path) -> None:
    planned = plan(folder, [Wish("kaolin", {"pack_price": "four", "kind": "cley", "use_min": "50"})])
    assert {one.cell for one in planned.problems} == {"pack_price", "kind", "use_min"}
    assert {one.line for one in planned.problems} == {4}
    assert planned.wished[4].name == "kaolin"
    with pytest.raises(DataError):
        write(folder, planned)
    assert read(folder) == SOUND[FILE]


def test_what_was_wrong_before_does_not_stand_in_the_way(folder: Path) -> None:
    put(folder, {"formulas/mask.yaml": BROKEN_FORMULA})
    planned = plan(
        folder, [Wish("", {}, {"id": "wax", "name": "Wax", "inci": "Cera", "kind": "wax"}, fresh=True)]
    )
    assert planned.problems == ()
    assert [one.file for one in planned.standing] == ["formulas/mask.yaml"]
    write(folder, planned)
    assert read(folder).endswith("\nwax,Wax,,Cera,wax,,,,,,,,,,\n")


def test_lines_that_only_moved_are_no_new_problem(folder: Path) -> None:
    before = load_worktable(put(folder, {FILE: SOUND[FILE] + "kaolin,K,,Kaolin,clay-plain,,,,,,,,,,\n"}))[1]
    planned = plan(folder, [Wish("rose-clay", {"notes": "x"}), Wish("citric-acid-20", gone=True)], before)
    assert planned.problems == ()
    assert apart(before, before) == ((), before)


def test_what_a_formula_uses_stays(folder: Path) -> None:
    planned = plan(folder, [Wish("kaolin", gone=True)])
    places = [one.sentence() for one in planned.problems]
    assert any(one.startswith("formulas/mask.yaml:11") and "kaolin" in one for one in places)
    with pytest.raises(DataError):
        write(folder, planned)


def test_with_an_ingredient_go_the_rows_about_it_alone(folder: Path) -> None:
    planned = plan(folder, [Wish("almond-oil", gone=True)])
    assert planned.problems == ()
    assert [one.file for one in planned.changes] == [FILE, "properties.csv"]
    write(folder, planned)
    assert "almond-oil" not in read(folder) + read(folder, "properties.csv")
    assert read(folder, "flags.csv") == SOUND["flags.csv"]
    undone = take_back(folder, planned)
    assert (read(folder), read(folder, "properties.csv")) == (SOUND[FILE], SOUND["properties.csv"])
    take_back(folder, undone)
    assert "almond-oil" not in read(folder)


def test_a_file_that_changed_meanwhile_is_never_written_over(folder: Path) -> None:
    planned = plan(folder, [Wish("almond-oil", gone=True)])
    put(folder, {"properties.csv": SOUND["properties.csv"] + "xanthan,solids,90,,,%,assumed\n"})
    with pytest.raises(ChangedMeanwhileError, match=r"properties.csv changed meanwhile"):
        write(folder, planned)
    assert read(folder) == SOUND[FILE]


def test_nothing_is_half_written(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    planned = plan(folder, [Wish("almond-oil", gone=True)])

    def failing(path: Path, content: bytes) -> None:
        if path.name == FILE:
            raise OptimiserError("the disk is full")
        write_atomic(path, content)

    monkeypatch.setattr(module, "write_atomic", failing)
    with pytest.raises(OptimiserError, match="full"):
        write(folder, planned)
    assert (read(folder), read(folder, "properties.csv")) == (SOUND[FILE], SOUND["properties.csv"])


def test_the_last_write_is_not_taken_back_over_another(folder: Path) -> None:
    planned = plan(folder, [Wish("kaolin", {"pack_price": "4.50"})])
    write(folder, planned)
    put(folder, {FILE: read(folder).replace("6.50", "6.60")})
    with pytest.raises(ChangedMeanwhileError):
        take_back(folder, planned)
    assert "6.60" in read(folder)


def test_a_new_ingredient_in_use_is_not_taken_back(folder: Path) -> None:
    whole = {"id": "wax", "name": "Wax", "inci": "Cera Alba", "kind": "wax"}
    planned = plan(folder, [Wish("", {}, whole, fresh=True)])
    write(folder, planned)
    put(folder, {"formulas/mask.yaml": MASK.replace("{glycerin: 5 %}", "{wax: 5 %}"), FILE: read(folder)})
    with pytest.raises(DataError):
        take_back(folder, planned)
    assert "wax,Wax" in read(folder)


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ({"ingredients.xlsx": b"x"}, "is a spreadsheet"),
        ({FILE: None}, "1 problem"),
        ({FILE: b"name,inci\nx,y\n"}, "1 problem"),
        ({FILE: b"id,name,inci,kind\n\xe9,,,\n"}, "1 problem"),
    ],
)
def test_a_table_that_cannot_be_changed_here_is_told(
    tmp_path: Path, files: dict[str, bytes], told: str
) -> None:
    with pytest.raises((UsageError, DataError), match=told):
        open_table(put(tmp_path, files))


def test_the_digest_is_of_all_that_would_be_written() -> None:
    one = module.Plan((Rewritten("a", b"x", b"y"),), ())
    assert one.digest == module.Plan((Rewritten("a", b"x", b"y"),), ()).digest
    assert one.digest != module.Plan((Rewritten("a", b"xy", b""),), ()).digest
    assert one.digest != one.back().digest


def sent(folder: Path, text: str, name: str = "prices.csv") -> Path:
    path = folder.parent / name
    path.write_bytes(text.encode())
    return path


def test_a_price_list_changes_prices_alone(folder: Path) -> None:
    found = bring(folder, sent(folder, "id;pack_price;notes\nkaolin;4.50;\nwater;9.00;\n"))
    assert (found.problems, found.same) == ((), 1)
    write(folder, found.plan)
    assert read(folder) == SOUND[FILE].replace("4.00", "4.50")


def test_an_empty_cell_empties_only_where_that_is_asked(folder: Path) -> None:
    path = sent(folder, "id,supplier\nkaolin,\n")
    assert bring(folder, path).plan.changes == ()
    (change,) = bring(folder, path, empty_too=True).plan.changes
    assert change.rows[0].cells == (CellChange("supplier", "Invented", ""),)


def test_problems_of_a_table_name_its_own_lines(folder: Path) -> None:
    text = (
        "id,name,inci,kind,pack_price\nkaolin,,,,many\nwax,Wax,,wax,5\nwax,Wax,,wax,\n,x,,,\nglycerin,,,,7\n"
    )
    found = bring(folder, sent(folder, text))
    told = [(one.file, one.line, one.cell) for one in found.problems]
    assert told == [
        ("prices.csv", 2, "pack_price"),
        ("prices.csv", 3, "inci"),
        ("prices.csv", 3, "pack_size"),
        ("prices.csv", 4, "id"),
        ("prices.csv", 5, "id"),
    ]
    assert read(folder) == SOUND[FILE]


def test_a_new_row_with_a_price_alone_is_asked_whether_a_near_name_was_meant(folder: Path) -> None:
    found = bring(folder, sent(folder, "id,pack_price\nxantan,9.00\nsqualane,3.00\n"))
    near = {(one.line, one.cell): one.fix for one in found.problems if one.cell in ("name", "inci", "kind")}
    meant = 'did you mean "xanthan"?'
    assert {cell: fix for (line, cell), fix in near.items() if line == 2} == dict.fromkeys(
        ("name", "inci", "kind"), meant
    )
    assert {fix for (line, _), fix in near.items() if line == 3} == {""}
    assert [one.fix for one in found.problems if one.cell == "pack_size"] == ["such as 500 g"] * 2


def test_a_workbook_names_its_cells_and_keeps_the_decimal_comma(folder: Path) -> None:
    from openpyxl import Workbook

    settings = SOUND["worktable.yaml"].replace("point", "comma")
    put(folder, {"worktable.yaml": settings, FILE: SOUND[FILE].replace("9.00", '"9,00"')})
    book = Workbook()
    page = book.active
    assert page is not None
    for row in (["id", "pack_price", "use_max"], ["kaolin", 4.5, 40], ["rose-clay", -1, None]):
        page.append(row)
    path = folder.parent / "prices.xlsx"
    book.save(path)
    found = bring(folder, path)
    assert ("prices.xlsx", 3, "B3") in [(one.file, one.line, one.cell) for one in found.problems]
    rows = {row.name: row.cells for change in found.plan.changes for row in change.rows}
    assert rows["kaolin"] == (CellChange("pack_price", "4.00", "4,5"),)


@pytest.mark.parametrize("text", ["", "name,inci\nx,y\n", 'id,name\nwax,"x\n', "id,name\nwax,a,b\n"])
def test_a_broken_table_is_told_and_changes_nothing(folder: Path, text: str) -> None:
    found = bring(folder, sent(folder, text))
    assert found.problems
    assert all(one.file == "prices.csv" for one in found.problems)
    assert found.plan.changes == ()
