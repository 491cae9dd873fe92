"""A changed table keeps every byte that was not asked for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.domain.changes import Wish
from optimiser.errors import OptimiserError
from optimiser.export.table_csv import rows_of, with_wishes, without_rows
from optimiser.loading.csv_spans import Sheet, read_sheet
from optimiser.loading.findings import Findings
from optimiser.loading.tables import Columns

COLUMNS = Columns(("id", "name"), ("notes", "price"))
ODD = '\ufeffid;Odd one;"Name";price\r\n\r\nwax; kept  as is ;"Wax; white";1,50\r\nclay;x;Clay;2,00'


def sheet_of(text: str) -> Sheet:
    sheet = read_sheet(text.encode(), COLUMNS, Findings("x.csv"))
    assert sheet is not None
    return sheet


def changed(text: str, *wishes: Wish) -> str:
    sheet = sheet_of(text)
    return sheet.encoded(with_wishes(sheet, wishes)).decode()


def test_one_cell_is_one_cell() -> None:
    assert changed(ODD, Wish("wax", {"price": "1,60"})) == ODD.replace("1,50", "1,60")
    assert changed(ODD, Wish("wax", {"name": "Wax"})) == ODD.replace('"Wax; white"', '"Wax"')
    assert changed(ODD, Wish("clay", {"name": 'a;"b"'})) == ODD.replace("Clay;2", '"a;""b""";2')


def test_what_says_the_same_is_not_touched() -> None:
    assert changed(ODD, Wish("wax", {"name": "Wax; white", "price": " 1,50 "})) == ODD


def test_a_new_row_comes_last_with_the_line_end_of_the_file() -> None:
    assert changed(ODD, Wish("", whole={"id": "oil", "price": "3"}, fresh=True)) == ODD + "\r\noil;;;3"
    whole = "id,name\nwax,Wax\n\n"
    assert changed(whole, Wish("oil", {"id": "oil", "name": "Oil"})) == "id,name\nwax,Wax\noil,Oil\n\n"


def test_a_row_taken_out_leaves_no_gap() -> None:
    assert changed(ODD, Wish("wax", gone=True)) == ODD.replace('wax; kept  as is ;"Wax; white";1,50\r\n', "")
    assert changed(ODD, Wish("clay", gone=True)) == ODD.partition("\r\nclay")[0]
    assert changed(ODD, Wish("nobody", gone=True)) == ODD
    sheet = sheet_of("id,name\na,1\nb,2")
    assert without_rows(sheet, sheet.rows) == "id,name"


def test_a_column_that_lacks_is_added_for_all() -> None:
    told = changed("id,name\nwax,\n", Wish("wax", {"name": "W", "notes": "soft, white"}))
    assert told == 'id,name,notes\nwax,W,"soft, white"\n'
    told = changed("id,name\nwax,\noil,Oil\n", Wish("wax", {"name": "W", "notes": "soft"}))
    assert told == "id,name,notes\nwax,W,soft\noil,Oil,\n"
    assert changed("id,name\nwax,\n", Wish("wax", {"notes": ""})) == "id,name\nwax,\n"


@pytest.mark.parametrize("start", "=+-@")
def test_a_spreadsheet_reckons_nothing(start: str) -> None:
    told = changed("id,name\nwax,Wax\n", Wish("wax", {"name": f"{start}cmd|' /C calc'!A0"}))
    assert f"wax,'{start}cmd" in told
    assert rows_of(told, sheet_of(told)) == [["wax", f"{start}cmd|' /C calc'!A0"]]


def test_a_broken_row_is_left_to_the_file() -> None:
    with pytest.raises(OptimiserError, match="line 2 has 3 cells where the header has 2"):
        changed("id,name\nwax,a,b\n", Wish("wax", {"name": "x"}))


CELL = st.text(st.sampled_from("ab ,;\"'\n=é"), max_size=5)


@given(st.lists(CELL, min_size=3, max_size=3), st.dictionaries(st.sampled_from(["name", "notes"]), CELL))
def test_any_text_reads_back(old: list[str], cells: dict[str, str]) -> None:
    """The writer itself refuses what would not read back; nothing of it may be refused."""
    start = changed("id,name\n", *(Wish(n, {"id": n, "name": c}) for n, c in zip("xyz", old, strict=True)))
    sheet = sheet_of(start)
    told = with_wishes(sheet, [Wish("y", cells)])
    kept = [start.splitlines()[0], *(line for line in start.splitlines() if line.startswith("x,"))]
    assert all(line in told for line in kept[1:])
