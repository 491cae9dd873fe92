"""What changed between two states of the files."""

from __future__ import annotations

from optimiser.domain.changes import CellChange
from optimiser.loading.differences import differences

OLD = b"id,name,inci,kind,pack_price\nwax,Wax,Cera,wax,5\noil,Oil,Oleum,oil,3\n"


def test_rows_and_cells_are_named() -> None:
    new = b"id,name,inci,kind,pack_price\noil,Oil,Oleum,oil,4\nclay,Clay,Kaolin,clay-plain,\n"
    (found,) = differences({"ingredients.csv": OLD}, {"ingredients.csv": new})
    told = [(row.kind, row.name, row.line) for row in found.rows]
    assert told == [("changed", "oil", 2), ("new", "clay", 3), ("gone", "wax", 2)]
    assert found.rows[0].cells == (CellChange("pack_price", "3", "4"),)
    assert (found.kind, found.count("new"), found.count("gone")) == ("changed", 1, 1)


def test_a_cell_of_several_lines_keeps_them() -> None:
    new = OLD.replace(b"wax,5", b'"wax\r\nfrom the fair\x07",5')
    (found,) = differences({"ingredients.csv": OLD}, {"ingredients.csv": new})
    assert found.rows[0].cells == (CellChange("kind", "wax", "wax\nfrom the fair\\u0007"),)


def test_marks_between_cells_are_no_rows() -> None:
    (found,) = differences({"ingredients.csv": OLD}, {"ingredients.csv": OLD.replace(b"\n", b"\r\n")})
    assert (found.file, found.rows, found.lines) == ("ingredients.csv", (), ())
    assert differences({"ingredients.csv": OLD}, {"ingredients.csv": OLD}) == ()


def test_other_files_are_told_by_line() -> None:
    old = {"formulas/balm.yaml": b"name: Balm\nbatch: 1 kg\n", "briefs/gone.yaml": b"a: b\n"}
    new = {"formulas/balm.yaml": b"name: Balm\nbatch: 2 kg\n"}
    found = differences(old, new)
    assert [(one.file, one.kind) for one in found] == [
        ("briefs/gone.yaml", "gone"),
        ("formulas/balm.yaml", "changed"),
    ]
    assert found[1].lines == ("- batch: 1 kg", "+ batch: 2 kg")


def test_a_row_that_stands_twice_is_told_once_more() -> None:
    head = b"ingredient,flag,state,source\n"
    row = b"wax,bee,contains,x\n"
    (found,) = differences({"flags.csv": head + row}, {"flags.csv": head + row + row})
    assert [(one.kind, one.name, one.line) for one in found.rows] == [("new", "wax · bee", 3)]


def test_what_cannot_be_read_is_only_named() -> None:
    (found,) = differences({"ingredients.csv": OLD}, {"ingredients.csv": b'id,"\n', "x.xlsx": b"no"})[:1]
    assert [one.kind for one in found.rows] == ["gone", "gone"]
    (found,) = differences({}, {"shelf.xlsx": b"no book"})
    assert (found.kind, found.rows) == ("new", ())
