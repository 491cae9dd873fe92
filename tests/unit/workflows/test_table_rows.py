"""Which rows of a table hold for an ingredient, and what tells rows apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.domain.changes import Wish
from optimiser.errors import OptimiserError, UsageError
from optimiser.loading.described import FLAGS, OWNED, PROCESS, PROPERTIES, SHELF
from optimiser.loading.reference import load_vocabulary
from optimiser.loading.tables import split_heading
from optimiser.workflows.table import open_table, plan, table_of, take_back, write
from optimiser.workflows.table_rows import Rows, rows_of, whose
from tests.unit.loading.folders import SOUND
from tests.unit.loading.folders import write as put


def rows(folder: Path, who: str, table: str = "flags") -> Rows:
    owner = whose(open_table(folder), who, load_vocabulary())
    return rows_of(open_table(folder, OWNED[table]), owner)


@pytest.mark.parametrize("name", OWNED)
def test_the_header_of_a_new_file_has_every_column(name: str) -> None:
    told = [split_heading(one) for one in OWNED[name].header]
    assert sorted(one for one, _ in told) == sorted(OWNED[name].columns.names)
    assert all(unit in ("", OWNED[name].columns.unit(one)) for one, unit in told)


def test_the_kind_outranks_the_group_and_an_own_row_both(tmp_path: Path) -> None:
    folder = put(tmp_path)
    assert list(rows(folder, "kaolin").lent) == ["kind:clay-plain · tree-nut"]
    assert list(rows(folder, "kaolin").own) == []
    assert list(rows(folder, "rose-clay").own) == ["rose-clay · tree-nut"]
    assert list(rows(folder, "rose-clay").lent) == []
    put(tmp_path, {FLAGS.file: SOUND[FLAGS.file].replace("kind:clay-plain", "kind: clay-plain ")})
    assert list(rows(folder, "kaolin").lent) == ["kind: clay-plain · tree-nut"]
    assert rows(folder, "water") == Rows({}, {})


def test_of_the_way_there_is_one_whatever_it_says(tmp_path: Path) -> None:
    ways = "ingredient,stage,add_as\ngroup:clay,powder,sieve\nkind:clay-plain,powder,stir\n"
    folder = put(tmp_path, {PROCESS.file: ways})
    assert list(rows(folder, "kaolin", "process").lent) == ["kind:clay-plain"]
    put(folder, {PROCESS.file: ways + "white clay,slurry,soak\n"})
    found = rows(folder, "kaolin", "process")
    assert (list(found.own), list(found.lent)) == (["white clay"], [])


def test_rows_that_say_the_same_are_told_apart() -> None:
    odd = "ingredient,flag,state,source\na,b · 2,x,\na,b,x,\na,b,x,\na,b,x,\na,b · 2,x,\n,,x,\n,,y,\n"
    table = table_of(odd.encode(), FLAGS)
    assert table is not None
    assert len(table.rows) == len(table.sheet.rows)
    assert [table.row(name) for name in table.rows if name] == [
        row for name, row in table.rows.items() if name
    ]


def test_a_file_comes_with_its_first_row_and_goes_by_taking_back(tmp_path: Path) -> None:
    semicolons = SOUND["ingredients.csv"].replace("; ", " / ").replace(",", ";").replace("\n", "\r\n")
    folder = put(tmp_path, {"ingredients.csv": "\ufeff" + semicolons})
    wish = Wish("", {}, {"ingredient": "water", "lot": "W; 1", "amount": "2 kg"}, fresh=True)
    planned = plan(folder, [wish], (), SHELF)
    assert planned.problems == ()
    write(folder, planned)
    assert (folder / SHELF.file).read_bytes() == (
        b'\xef\xbb\xbfingredient;lot;amount;unit_price;opened;expires;papers\r\nwater;"W; 1";2 kg;;;;\r\n'
    )
    take_back(folder, planned)
    assert not (folder / SHELF.file).exists()


def test_a_number_that_others_need_is_not_taken_out(tmp_path: Path) -> None:
    planned = plan(put(tmp_path), [Wish("almond-oil · density", gone=True)], None, PROPERTIES)
    assert [(one.file, one.line) for one in planned.problems] == [("ingredients.csv", 9)]


def test_what_is_not_read_here_is_not_written_here(tmp_path: Path) -> None:
    folder = put(tmp_path, {"shelf.xlsx": b"x"})
    with pytest.raises(UsageError, match=r"shelf\.xlsx"):
        open_table(folder, SHELF)
    (folder / PROCESS.file).mkdir()
    with pytest.raises(OptimiserError):
        open_table(folder, PROCESS)
