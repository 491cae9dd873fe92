"""What an ingredient is and does, told on its page: rows of the further tables shown, changed, taken back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import unescape
from pathlib import Path

import pytest

from optimiser.loading.worktable import load_worktable
from optimiser.page.forming import NO_ROW
from tests.page.conftest import Visitor
from tests.page.row_forms import added, back, fields_of, links, retyped, row_at
from tests.page.table_forms import press, read
from tests.unit.loading.folders import MASK, SOUND, loaded, write

FLAGS, PROPERTIES = "flags.csv", "properties.csv"


@pytest.fixture(autouse=True)
def sound(place: Path) -> None:
    """Nothing lies in the folder that a test before left there."""
    for path in place.glob("*.[cx][sl][vs]*"):
        if path.name not in SOUND:
            path.unlink()


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub("<[^>]*>", " ", text))


def test_own_rows_stand_before_those_of_kind_and_group(maker: Visitor) -> None:
    text = maker.get("/ingredient/rose-clay").text
    own, lent = text.index("invented demo data, 2026-01-15"), text.index("from <bdi>group:clay")
    assert own < lent
    assert "tree-nut contains invented demo data" in plain(text)
    assert "from <bdi>kind:clay-plain" not in text
    kaolin = plain(maker.get("/ingredient/kaolin").text)
    lent = "tree-nut from kind:clay-plain free by nature: mineral, 2026-01-15"
    assert f"{lent} Write a row of its own" in kaolin
    assert "density from group:clay 2.6 2.5 to 2.7 g/ml memory: handbook" in kaolin
    assert "water uptake 0.5 0.4 to 0.6 g/g published: a table Change" in kaolin


def test_what_is_lent_by_another_is_told_but_has_no_row(maker: Visitor) -> None:
    text = maker.get("/ingredient/rose-clay").text
    assert re.search(r"solids</bdi> <small>not from this table.*?borrowed from kaolin", text, re.DOTALL)
    (begin,) = [one for one in links(text, "Write a row of its own") if "begin=solids" in one]
    form = fields_of(maker.get(begin).text)
    assert (form["property"], form["unit"], form["value"]) == ("solids", "%", "")


def test_a_flag_is_added_shown_written_and_taken_back(maker: Visitor, place: Path) -> None:
    shown = added(maker, "glycerin", "flags", flag="palm", state="free", source="supplier: letter", date="")
    assert shown.status_code == 200
    assert "glycerin · palm" in shown.text
    assert read(place, FLAGS) == SOUND[FLAGS]
    written = press(maker, shown)
    assert "Written." in written.text
    assert read(place, FLAGS) == SOUND[FLAGS] + "glycerin,palm,free,supplier: letter,\n"
    worktable, _ = load_worktable(place)
    assert worktable is not None
    assert worktable.ingredients["glycerin"].flag("palm") == "free"
    assert links(written.text, "Add another") == ["/ingredient/glycerin/flags/add"]
    taken = back(maker, written)
    assert taken.url.path == "/ingredient/glycerin"
    assert "Taken back: the files say again" in taken.text
    assert read(place, FLAGS) == SOUND[FLAGS]
    assert "Written again." in back(maker, taken, "again").text
    assert read(place, FLAGS).endswith("glycerin,palm,free,supplier: letter,\n")


def test_a_step_is_told_right_after_it_and_not_later(maker: Visitor, place: Path) -> None:
    said = "Taken back: the files say again"
    written = press(maker, added(maker, "glycerin", "flags", flag="palm", state="unknown"))
    taken = back(maker, written)
    address = f"{taken.url.path}?{taken.url.query.decode()}"
    assert said in maker.get(address).text
    for way in ("back", "again"):
        assert said not in maker.get(f"/ingredients?{way}=yes").text
    write(place, {FLAGS: SOUND[FLAGS] + "water,palm,unknown,,\n"})
    assert said not in maker.get(address).text, "an editor wrote since"
    write(place, {FLAGS: SOUND[FLAGS]})
    again = back(maker, taken, "again")
    assert "Written again." in again.text
    assert said not in maker.get(address).text
    press(maker, added(maker, "glycerin", "flags", flag="soy", state="unknown"))
    assert "Written again." not in maker.get(f"{again.url.path}?{again.url.query.decode()}").text


def test_several_writes_are_taken_back_one_after_the_other(maker: Visitor, place: Path) -> None:
    press(maker, added(maker, "glycerin", "flags", flag="palm", state="unknown"))
    press(maker, added(maker, "xanthan", "shelf", lot="X-1", amount="80 g"))
    last = press(maker, retyped(maker, row_at(maker, "kaolin", "properties"), value="98.5"))
    assert (place / "shelf.csv").read_text() == (
        "ingredient,lot,amount,unit_price,opened,expires,papers\nxanthan,X-1,80 g,,,,\n"
    )
    for _ in range(2):
        last = back(maker, last)
    assert read(place, PROPERTIES) == SOUND[PROPERTIES]
    assert not (place / "shelf.csv").exists()
    back(maker, last)
    assert read(place, FLAGS) == SOUND[FLAGS]


def test_a_number_has_the_unit_of_its_property(maker: Visitor, place: Path) -> None:
    form = maker.get("/ingredient/glycerin/properties/add").text
    assert '<option value="density">density, g/ml: density at room temperature</option>' in form
    assert "Begins with published, supplier, memory" in form
    press(
        maker, added(maker, "glycerin", "properties", property="density", value="1.26", source="published: x")
    )
    assert read(place, PROPERTIES).endswith("glycerin,density,1.26,,,g/ml,published: x\n")
    other = added(maker, "water", "properties", property="density", value="1", unit="g/g", source="assumed")
    assert other.status_code == 409
    assert re.search(r'id="m-unit"><strong class="at">expected <bdi>the unit g/ml', other.text)


@pytest.mark.parametrize(
    ("table", "cells"),
    [
        ("flags", {"flag": "palm", "state": "free"}),
        ("flags", {"flag": "", "state": "perhaps", "source": "x", "date": "1.2.2026"}),
        ("properties", {"property": "solids", "value": "many", "source": "assumed"}),
        ("properties", {"property": "solids", "value": "120", "source": "my neighbour"}),
        ("properties", {"property": "solids", "low": "10", "source": "supplier: sheet"}),
        ("composition", {"substance": "Glycerin", "share": "130", "source": "supplier"}),
        (
            "process",
            {"stage": "", "add_as": "stir in", "carried_by": "oil", "add_from_c": "80", "add_to_c": "4"},
        ),
        ("shelf", {"lot": "L", "amount": "5 stone", "opened": "2026-02-30"}),
    ],
)
def test_a_broken_value_is_refused_with_the_sentence_of_check(
    maker: Visitor, place: Path, tmp_path: Path, table: str, cells: dict[str, str]
) -> None:
    before = {name: data.read_bytes() for name in (FLAGS, PROPERTIES) if (data := place / name)}
    shown = added(maker, "xanthan", table, **cells)
    assert shown.status_code == 409
    assert before == {name: (place / name).read_bytes() for name in before}
    written = _with_row(tmp_path, maker, table, {"ingredient": "xanthan", **cells})
    problems = load_worktable(written)[1]
    assert problems
    told = plain(shown.text)
    for one in problems:
        assert f"expected {plain(one.expected)} , found {plain(one.found)}" in _unescaped(told), one
    assert f"{len(problems)} fault{'s' * (len(problems) > 1)}. Nothing was written." in told


def _with_row(folder: Path, maker: Visitor, table: str, cells: dict[str, str]) -> Path:
    """A folder in which the row stands already, as an editor writes it."""
    head = SOUND.get(f"{table}.csv", "") or ",".join(("ingredient", *fields_of(_blank(maker, table))))
    names = [one for one in head.partition("\n")[0].split(",") if one != "seen"]
    unit = {"unit": "%"} if table == "properties" else {}
    row = ",".join(f'"{({**unit, **cells}).get(name, "")}"' for name in names)
    body = SOUND.get(f"{table}.csv") or ",".join(names) + "\n"
    return write(folder, {f"{table}.csv": f"{body}{row}\n", "formulas/mask.yaml": MASK})


def _blank(maker: Visitor, table: str) -> str:
    return str(maker.get(f"/ingredient/xanthan/{table}/add").text)


def _unescaped(text: str) -> str:
    return re.sub(r"\s+", " ", unescape(text))


def test_a_row_is_changed_and_all_others_stay_as_they_are(maker: Visitor, place: Path) -> None:
    odd = SOUND[PROPERTIES].replace(",", ";").replace("\n", "\r\n").replace("assumed", '"assumed"')
    write(place, {PROPERTIES: "\ufeff" + odd.replace("kaolin;solids", " kaolin ;solids")})
    before = read(place, PROPERTIES)
    press(maker, retyped(maker, row_at(maker, "kaolin", "properties"), low="97.5", source="supplier; new"))
    assert read(place, PROPERTIES) == before.replace(
        "99;98;100;%;invented demo data", '99;97.5;100;%;"supplier; new"'
    )


def in_commas(files: Mapping[str, str]) -> dict[str, str]:
    """The files with decimal commas, and semicolons between cells."""
    found = {}
    for name, text in files.items():
        cells = (
            text.replace("; ", "|")
            .replace(",", ";")
            .replace("white clay|china clay", '"white clay; china clay"')
        )
        comma = cells if name.endswith(".csv") else text.replace("decimal: point", "decimal: comma")
        found[name] = re.sub(r"(\d)\.(\d)", r"\1,\2", comma)
    return found


def test_a_folder_with_decimal_commas_takes_commas(maker: Visitor, place: Path) -> None:
    mask = {"formulas/mask.yaml": MASK.replace("0.4 %", '"0,4 %"')}
    loaded(place, {**in_commas(SOUND), **mask})
    press(
        maker,
        added(maker, "glycerin", "properties", property="density", value="1,26", source="published: x"),
    )
    assert read(place, PROPERTIES).endswith("\nglycerin;density;1,26;;;g/ml;published: x\n")
    press(
        maker, added(maker, "glycerin", "composition", substance="Glycerin", share="99,5", source="supplier")
    )
    assert read(place, "composition.csv") == (
        "ingredient;substance;share [%];low;high;source\nglycerin;Glycerin;99,5;;;supplier\n"
    )
    refused = added(maker, "glycerin", "properties", property="solids", value="99.5", source="supplier")
    assert "write 99,5" in refused.text


def test_a_row_is_taken_out(maker: Visitor, place: Path) -> None:
    path = row_at(maker, "rose-clay", "flags").replace("/row?", "/remove?")
    shown = maker.post(path)
    assert "This row would be taken out" in shown.text
    press(maker, shown)
    assert read(place, FLAGS) == SOUND[FLAGS].replace(
        "rose-clay,tree-nut,contains,invented demo data,2026-01-15\n", ""
    )


def test_a_number_that_is_needed_stays(maker: Visitor, place: Path) -> None:
    shown = maker.post(row_at(maker, "almond-oil", "properties").replace("/row?", "/remove?"))
    assert shown.status_code == 409
    assert "Mend the places below first." in shown.text
    assert "<bdi>ingredients.csv:9:pack_size</bdi>" in shown.text
    assert read(place, PROPERTIES) == SOUND[PROPERTIES]


def test_an_own_row_is_written_where_one_is_lent(maker: Visitor, place: Path) -> None:
    text = maker.get("/ingredient/kaolin").text
    (own,) = [one for one in links(text, "Write a row of its own") if "/flags/" in one]
    form = fields_of(maker.get(own).text)
    assert (form["flag"], form["state"], form["source"], form["date"]) == ("tree-nut", "free", "", "")
    press(
        maker,
        maker.post("/ingredient/kaolin/flags/add", **{**form, "state": "contains", "source": "supplier"}),
    )
    assert read(place, FLAGS) == SOUND[FLAGS] + "kaolin,tree-nut,contains,supplier,\n"
    assert "from <bdi>kind:clay-plain" not in maker.get("/ingredient/kaolin").text


def test_rows_of_others_are_not_changed_here(maker: Visitor, place: Path) -> None:
    strangers = ("group:clay · tree-nut", "kind:clay-plain · tree-nut", "rose-clay · tree-nut", "", "x")
    for row in strangers:
        for way in ("row", "remove"):
            answer = maker.client.post(
                f"/ingredient/kaolin/flags/{way}", params={"row": row}, data={"token": maker.keys.form}
            )
            assert answer.status_code == 404, (row, way)
            assert NO_ROW in answer.text
    for path in (
        "/ingredient/nobody/flags/add",
        "/ingredient/kaolin/learned/add",
        "/ingredient/kaolin/../add",
    ):
        assert maker.get(path).status_code == 404, path
    assert read(place, FLAGS) == SOUND[FLAGS]


def test_rows_under_another_name_of_it_are_its_own(maker: Visitor, place: Path) -> None:
    write(place, {FLAGS: SOUND[FLAGS] + "China Clay,palm,unknown,,\n"})
    press(maker, retyped(maker, row_at(maker, "kaolin", "flags"), state="free", source="supplier"))
    assert read(place, FLAGS) == SOUND[FLAGS] + "China Clay,palm,free,supplier,\n"


def test_a_row_that_stands_twice_is_mended_here(maker: Visitor, place: Path) -> None:
    write(place, {FLAGS: SOUND[FLAGS] + "rose-clay,tree-nut,free,supplier,\n"})
    text = maker.get("/ingredient/rose-clay").text
    assert "1 fault</small>" in text
    second = row_at(maker, "rose-clay", "flags", 1)
    assert "expected <bdi>one state of" in maker.get(second).text
    press(maker, maker.post(second.replace("/row?", "/remove?")))
    assert read(place, FLAGS) == SOUND[FLAGS]


def test_a_spreadsheet_is_changed_in_its_own_program(maker: Visitor, place: Path, demo_book: bytes) -> None:
    write(place, {"flags.xlsx": demo_book})
    (place / FLAGS).unlink()
    text = maker.get("/ingredient/kaolin").text
    assert "These rows lie in flags.xlsx: change them in a spreadsheet program" in text
    assert "tree-nut free" in plain(text)
    assert "/ingredient/kaolin/flags/add" not in text
    answer = maker.get("/ingredient/kaolin/flags/add")
    assert answer.status_code == 409
    assert "flags.xlsx" in answer.text


@pytest.fixture(scope="module")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    from openpyxl import Workbook

    book, path = Workbook(), tmp_path_factory.mktemp("book") / "flags.xlsx"
    assert book.active is not None
    for line in ("ingredient,flag,state,source,date", "kaolin,tree-nut,free,supplier,"):
        book.active.append(line.split(","))
    book.save(path)
    return path.read_bytes()


def test_a_table_that_cannot_be_read_is_told_and_the_others_stand(maker: Visitor, place: Path) -> None:
    write(place, {FLAGS: 'ingredient,flag,state,source\nkaolin,"open\n'})
    text = maker.get("/ingredient/kaolin").text
    assert "flags.csv cannot be read, so its rows are not shown" in text
    assert "quotation marks that do not close" in text
    assert "water uptake" in text
    assert maker.get("/ingredient/kaolin/flags/add").status_code == 409


def test_hostile_text_in_a_row_stays_text(maker: Visitor, place: Path) -> None:
    hostile = '<script>alert("x")</script>'
    press(maker, added(maker, "kaolin", "process", stage="powder", add_as=hostile, wear="=cmd|' /C calc'!A0"))
    assert "'=cmd|" in read(place, "process.csv")
    press(maker, added(maker, "glycerin", "shelf", lot=f"{hostile} & more", amount="5 g"))
    for path in ("/ingredient/kaolin", "/ingredient/glycerin", row_at(maker, "glycerin", "shelf")):
        text = maker.get(path).text
        assert "<script>alert" not in text
        assert "&lt;script&gt;" in text
    begun = maker.get("/ingredient/kaolin/flags/add?begin=%22%3E%3Cscript%3Ealert(1)")
    assert "<script>alert" not in begun.text
    shown = added(maker, "kaolin", "flags", flag="palm", state="free", source="\u202egnp.exe")
    assert "text without invisible characters" in shown.text
    assert added(maker, "xanthan", "process", stage="powder", add_as="x" * 10_001).status_code == 409


def test_a_table_that_was_not_there_comes_and_goes(maker: Visitor, place: Path) -> None:
    assert "is not there yet" in maker.get("/ingredient/kaolin/process/add").text
    written = press(
        maker, added(maker, "kaolin", "process", stage="powder", add_as="sieve in", wait_min="15")
    )
    assert read(place, "process.csv").endswith("\nkaolin,powder,sieve in,,,,,15,,\n")
    text = maker.get("/ingredient/kaolin").text
    assert "Say how it is added" not in text
    assert "sieve in then wait 15 min" in plain(text)
    back(maker, written)
    assert not (place / "process.csv").exists()


def test_several_flags_are_told_from_one_paper(maker: Visitor, place: Path) -> None:
    text = maker.get("/ingredient/kaolin/flags/several").text
    assert "Now free, from kind:clay-plain" in text
    paper = {"source": "supplier: statement", "date": "2026-10-01"}
    told = {"flag:palm": "free", "flag:soy": "free", "flag:tree-nut": "unknown", "flag:peanut": ""}
    shown = maker.post("/ingredient/kaolin/flags/several", **paper, **told)
    assert "kaolin · 3 flags: before and after" in plain(shown.text)
    assert read(place, FLAGS) == SOUND[FLAGS]
    back_to_form = maker.get(links(shown.text, "Back, without writing")[0]).text
    assert re.search(r'name="flag:soy".*?value="free" selected', back_to_form, re.DOTALL)
    written = press(maker, shown)
    rows = ("tree-nut,unknown", "soy,free", "palm,free")
    lines = "".join(f"kaolin,{one},supplier: statement,2026-10-01\n" for one in rows)
    assert sorted(read(place, FLAGS).splitlines()) == sorted((SOUND[FLAGS] + lines).splitlines())
    assert 'name="flag:palm"' not in maker.get("/ingredient/kaolin/flags/several").text
    back(maker, written)
    assert read(place, FLAGS) == SOUND[FLAGS]


def test_one_paper_that_lacks_its_source_is_told_once(maker: Visitor, place: Path) -> None:
    told = {"flag:palm": "free", "flag:soy": "contains", "flag:peanut": "perhaps", "date": "soon"}
    shown = maker.post("/ingredient/glycerin/flags/several", **told)
    assert shown.status_code == 409
    assert shown.text.count("expected <bdi>a value for source") == 1
    assert shown.text.count("expected <bdi>a date such as 2026-11-01") == 1
    assert "expected <bdi>a state" in shown.text
    assert "3 faults. Nothing was written." in shown.text
    assert re.search(r'name="flag:soy".*?value="contains" selected', shown.text, re.DOTALL)
    assert read(place, FLAGS) == SOUND[FLAGS]
    nothing = maker.post("/ingredient/glycerin/flags/several", source="supplier")
    assert "Nothing would change" in nothing.text
    for path in ("/ingredient/nobody/flags/several", "/ingredient/..%2fx/flags/several"):
        assert maker.get(path).status_code == 404
        assert maker.post(path).status_code == 404
