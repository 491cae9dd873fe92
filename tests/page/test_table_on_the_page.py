"""The table of ingredients on the page: looked through, changed, added to, taken from, taken back."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from optimiser.page.app import make_app
from optimiser.page.desk import Desk
from optimiser.page.guard import Keys
from optimiser.page.work import Work
from tests.page.conftest import HOST, Visitor
from tests.page.table_forms import FILE, NAMES, cells_of, press, read, send, typed
from tests.unit.loading.folders import SOUND, write


def test_the_table_is_looked_through(maker: Visitor) -> None:
    text = maker.get("/ingredients").text
    assert "8 ingredients in ingredients.csv" in text
    assert text.index("Water</bdi>") < text.index("Glycerin</bdi>")
    for query, names in (("q=clay", 2), ("role=absorbent", 2), ("flag=tree-nut", 1), ("q=clay+zzz", 0)):
        text = maker.get(f"/ingredients?{query}").text
        assert f"{names} of 8 ingredients" in text
        assert text.count('<th scope="row">') == names
    assert "No ingredient fits." in text
    assert '<a href="/ingredients">' in maker.get("/").text


def test_the_table_is_put_in_order(maker: Visitor) -> None:
    rows = re.compile(r'<th scope="row"><a [^>]*><bdi>([^<]+)</bdi></a></th><td><bdi>([^<]*)</bdi>')
    in_file = rows.findall(maker.get("/ingredients?order=%3Cb%3E").text)
    assert in_file == rows.findall(maker.get("/ingredients").text)
    by_name = rows.findall(maker.get("/ingredients?order=name").text)
    assert by_name == sorted(in_file) != in_file
    by_kind = rows.findall(maker.get("/ingredients?order=kind").text)
    assert by_kind == sorted(in_file, key=lambda row: (row[1].casefold(), row[0].casefold())) != by_name


def test_a_long_table_comes_in_pages(maker: Visitor, place: Path) -> None:
    rows = "".join(f"oil-no{number:03d}x,Oil,,Oleum,oil,,,,,,,,,,\n" for number in range(200, 320))
    write(place, {FILE: SOUND[FILE] + rows})
    first, last = (maker.get(f"/ingredients?q=oil&page={page}").text for page in ("1", "99"))
    assert "121 of 129 ingredients; page 1 of 3" not in first
    assert "page 1 of 3" in first
    assert first.count('<th scope="row">') == 50
    assert 'href="/ingredients?q=oil&amp;page=2"' in first
    assert "page 3 of 3" in last
    assert "oil-no319x" in last


def test_every_column_is_a_labelled_field(maker: Visitor) -> None:
    text = maker.get("/ingredient/kaolin").text
    for name in NAMES:
        assert f'<label for="f-{name}">' in text, name
        assert f'aria-describedby="m-{name}"' in text, name
    assert cells_of(text)["pack_price"] == "4.00"
    assert cells_of(text)["kind"] == "clay-plain"
    assert "Line 4 of ingredients.csv." in text
    assert "From: offer or invoice." in text
    assert re.search(r'href="/formula/mask"><bdi>Mask</bdi></a> <span class="soft">20 % in phase B', text)
    assert re.search(r"water uptake.*?0\.5.*?0\.4 to 0\.6.*?g/g.*?published: a table", text, re.DOTALL)


def test_a_cell_is_shown_then_written_and_the_rest_stays(maker: Visitor, place: Path) -> None:
    shown = typed(maker, "kaolin", pack_price="4.50", notes="new lot")
    assert shown.status_code == 200
    assert (
        'Price of the pack</bdi></th><td class="was"><bdi>4.00</bdi></td><td class="is"><bdi>4.50'
        in shown.text
    )
    assert read(place) == SOUND[FILE]
    assert "Written." in press(maker, shown).text
    expected = SOUND[FILE].replace("1 kg,4.00,2,,", "1 kg,4.50,2,,new lot")
    assert read(place) == expected
    assert "Written." in maker.get(shown.url.path).text
    press_again = maker.post(shown.url.path, shown="x")
    assert "Written." in press_again.text
    assert read(place) == expected


def test_nothing_new_is_not_written(maker: Visitor, place: Path) -> None:
    shown = typed(maker, "kaolin")
    assert "Nothing would change" in shown.text
    assert 'name="shown"' not in shown.text


def test_other_bytes_stay(maker: Visitor, place: Path) -> None:
    """Byte order mark, delimiter, line ends, needless quotation marks and blanks stay as they are."""
    odd = SOUND[FILE].replace(",", ";").replace("\n", "\r\n").replace("Xanthan gum", '"Xanthan gum"')
    odd = ("\ufeff" + odd.replace("Water;", " Water ;")).removesuffix("\r\n")
    write(place, {FILE: odd})
    shown = typed(maker, "xanthan", name='Xanthan; "clear"', use_max="1.5")
    press(maker, shown)
    assert read(place) == odd.replace('"Xanthan gum"', '"Xanthan; ""clear"""').replace(";0.1;1;", ";0.1;1.5;")


def test_notes_of_several_lines_stay_as_they_are(maker: Visitor, place: Path) -> None:
    odd = SOUND[FILE].replace("1 kg,4.00,2,,", '1 kg,4.00,2,,"keep dry\r\nand ""cool"""')
    write(place, {FILE: odd})
    press(maker, typed(maker, "kaolin", pack_price="4.50"))
    assert read(place) == odd.replace("4.00", "4.50")
    shown = typed(maker, "kaolin", notes="keep dry\r\nand cold")
    press(maker, shown)
    assert '"keep dry\nand cold"' in read(place)


def test_a_flood_of_faults_is_cut(maker: Visitor, place: Path) -> None:
    rows = "".join(f"new-{number:04d}x,,,,\n" for number in range(300))
    shown = send(maker, f"id,name,inci,kind,pack_price\n{rows}".encode())
    assert shown.text.count("<li><strong>") == 200
    assert "and 700 more</p>" in shown.text


def test_faults_stand_at_their_fields(maker: Visitor, place: Path) -> None:
    shown = typed(maker, "kaolin", pack_price="four", kind="", notes="kept & typed")
    assert shown.status_code == 409
    assert "2 faults. Nothing was written." in shown.text
    for name in ("pack_price", "kind"):
        means = re.search(rf'id="m-{name}"><strong class="at">expected (.*?)</p>', shown.text, re.DOTALL)
        assert means is not None, name
    assert 'value="four"' in shown.text
    assert "kept &amp; typed" in shown.text
    assert "In the file: <bdi>4.00</bdi>" in shown.text
    assert read(place) == SOUND[FILE]
    again = maker.post(
        "/ingredient/kaolin",
        **{**cells_of(shown.text), "pack_price": "4.10", "kind": "clay-plain"},
    )
    press(maker, again)
    assert read(place) == SOUND[FILE].replace("4.00,2,,", "4.10,2,,kept & typed")


def test_a_fault_in_the_file_is_mended_here(maker: Visitor, place: Path) -> None:
    write(
        place,
        {
            FILE: SOUND[FILE].replace(
                "clay-plain,absorbent,powder,1,40,Invented,", "cley,absorbent,powder,1,40,Invented,"
            )
        },
    )
    assert "1 fault</small>" in maker.get("/ingredients").text
    text = maker.get("/ingredient/kaolin").text
    assert re.search(r'id="m-kind"><strong class="at">expected <bdi>a kind', text)
    press(maker, maker.post("/ingredient/kaolin", **{**cells_of(text), "kind": "clay-plain"}))
    assert read(place) == SOUND[FILE]


def test_an_ingredient_is_added(maker: Visitor, place: Path) -> None:
    new = {
        "id": "beeswax",
        "name": "Beeswax, =cmd",
        "inci": "Cera Alba",
        "kind": "wax",
        "supplier": "=cmd|' /C calc'!A0",
    }
    shown = maker.post("/ingredients/add", **new)
    assert "Beeswax, =cmd" in shown.text
    assert read(place) == SOUND[FILE]
    press(maker, shown)
    assert (
        read(place) == SOUND[FILE] + "beeswax,\"Beeswax, =cmd\",,Cera Alba,wax,,,,,'=cmd|' /C calc'!A0,,,,,\n"
    )
    assert cells_of(maker.get("/ingredient/beeswax").text)["supplier"] == "=cmd|' /C calc'!A0"
    twice = maker.post("/ingredients/add", **new)
    assert twice.status_code == 409
    assert re.search(r'id="m-id"><strong class="at">expected <bdi>each id once', twice.text)


def test_what_is_used_is_not_taken_out(maker: Visitor, place: Path) -> None:
    shown = maker.post("/ingredient/kaolin/remove")
    assert shown.status_code == 409
    assert "A formula uses it." in shown.text
    assert "20 % in phase B" in shown.text
    assert "<bdi>formulas/mask.yaml:11</bdi>" in shown.text
    assert "<bdi>ingredients.csv:5:like</bdi>" in shown.text
    assert "did you mean" not in shown.text
    assert read(place) == SOUND[FILE]


def test_what_is_not_used_goes_with_the_rows_about_it_and_comes_back(maker: Visitor, place: Path) -> None:
    shown = maker.post("/ingredient/almond-oil/remove")
    assert "<bdi>properties.csv</bdi> <small>1 row taken out" in shown.text
    written = press(maker, shown)
    assert "almond-oil" not in read(place) + read(place, "properties.csv")
    which = re.search(r'name="which" value="(\w+)"', written.text)
    assert which is not None
    assert maker.post("/ingredients/back", which="0").status_code == 409
    assert maker.post("/ingredients/back", which=which[1]).status_code == 200
    assert (read(place), read(place, "properties.csv")) == (SOUND[FILE], SOUND["properties.csv"])
    assert maker.post("/ingredients/back", which=which[1]).status_code == 409


def test_the_last_write_is_not_taken_back_over_another(maker: Visitor, place: Path) -> None:
    written = press(maker, typed(maker, "kaolin", pack_price="4.50"))
    other = read(place).replace("6.50", "6.60")
    (place / FILE).write_bytes(other.encode())
    which = re.search(r'name="which" value="(\w+)"', written.text)
    assert which is not None
    answer = maker.post("/ingredients/back", which=which[1])
    assert answer.status_code == 409
    assert "ingredients.csv changed meanwhile" in answer.text
    assert read(place) == other


def test_a_spreadsheet_is_shown_then_taken_in(maker: Visitor, place: Path) -> None:
    rows = b"id;name;inci;kind;pack_price\nkaolin;;;;4.50\nbeeswax;Beeswax;Cera Alba;wax;\nwater;;;;9.00\n"
    shown = send(maker, rows)
    assert shown.status_code == 200
    assert "1 row changed, 1 row new" in shown.text
    assert "1 row of the table sent says nothing new." in shown.text
    assert read(place) == SOUND[FILE]
    press(maker, shown)
    assert read(place) == SOUND[FILE].replace("4.00", "4.50") + "beeswax,Beeswax,,Cera Alba,wax,,,,,,,,,,\n"


def test_a_spreadsheet_with_faults_names_file_line_and_column(maker: Visitor, place: Path) -> None:
    shown = send(maker, b"id,name,kind,pack_price\nkaolin,,,many\nbeeswax,Beeswax,waxx,\n")
    assert shown.status_code == 409
    for place_of in ("prices.csv:2:pack_price", "prices.csv:3:kind", "prices.csv:3:inci"):
        assert f"<bdi>{place_of}</bdi>" in shown.text
    assert 'name="shown"' not in shown.text
    alone = re.sub("<[^>]*>", "", send(maker, b"id,pack_price\nxantan,9.00\n").text)
    assert "expected a pack size beside the price, found an empty cell; such as 500 g" in alone
    assert "expected a value for inci, found an empty cell; did you mean &#34;xanthan&#34;?" in alone
    maker.post(shown.url.path, shown="x")
    assert read(place) == SOUND[FILE]


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("x.xlsx", b"no book", "an XLSX workbook"),
        ("x.csv", b'id,name\nwax,"open\n', "cells that can be told apart"),
        ("x.csv", b"\x00\xff" * 200, "x.csv"),
        ("x.csv", b"", "a header line with id"),
        ("x.csv", b"name,inci\na,b\n", "the column id"),
        ("x.exe", b"MZ", "neither CSV nor XLSX"),
        ("x.csv", b"a" * 2_000_001, "larger than 2 MB"),
        ("../../<b>.csv", b"id,name\nkaolin,\xc3\n", "ingredients.csv"),
    ],
)
def test_a_broken_spreadsheet_is_told(
    maker: Visitor, place: Path, name: str, content: bytes, told: str
) -> None:
    shown = send(maker, content, name)
    assert shown.status_code == 409
    assert told in shown.text
    assert "<b>" not in shown.text
    assert read(place) == SOUND[FILE]


def test_hostile_text_stays_text(maker: Visitor, place: Path) -> None:
    hostile = '<script>alert("x")</script>'
    shown = typed(maker, "kaolin", name=hostile, supplier="\u202egnp.exe")
    assert shown.status_code == 409
    assert "text without invisible characters" in shown.text
    assert "<script>alert" not in shown.text
    press(maker, typed(maker, "kaolin", name=hostile, inci="Kaolin"))
    for path in ("/ingredients", "/ingredient/kaolin", "/ingredients?q=%3Cscript%3E", "/"):
        assert "<script>alert" not in maker.get(path).text
    assert "&lt;script&gt;" in maker.get("/ingredients").text


@pytest.mark.parametrize("name", ["..%2f..%2fworktable", "..%5cx", "nobody", "%00", "worktable.yaml"])
def test_no_name_leads_anywhere(maker: Visitor, name: str) -> None:
    for path in (f"/ingredient/{name}", f"/edit/{name}", f"/edit/{name}/fields"):
        assert maker.get(path).status_code == 404, path
    for path in (f"/ingredient/{name}", f"/ingredient/{name}/remove", f"/edit/{name}", f"/edit/{name}/mine"):
        assert maker.post(path).status_code == 404, path


def test_nothing_is_written_without_the_token(maker: Visitor, place: Path) -> None:
    shown = typed(maker, "kaolin", pack_price="4.50")
    digest = re.search(r'name="shown" value="(\w+)"', shown.text)
    assert digest is not None
    for data in ({"shown": digest[1]}, {"shown": digest[1], "token": "guess"}):
        assert maker.client.post(shown.url.path, data=data).status_code == 403
    assert read(place) == SOUND[FILE]


@pytest.mark.parametrize(
    ("files", "told"),
    [({"ingredients.xlsx": b"x"}, "is a spreadsheet"), ({FILE: b"name\nx\n"}, "the columns id, inci, kind")],
)
def test_a_table_that_cannot_be_changed_here_says_so(
    tmp_path: Path, files: dict[str, bytes], told: str
) -> None:
    write(tmp_path, files)
    keys = Keys(frozenset({HOST}))
    with TestClient(make_app(Desk(tmp_path), Work(tmp_path), keys), base_url=f"http://{HOST}") as client:
        client.cookies.set(keys.cookie, keys.key)
        for path in ("/ingredients", "/ingredients/add", "/ingredient/kaolin"):
            answer = client.get(path)
            assert answer.status_code == 409
            assert told in answer.text


def test_known_roles_are_offered_and_added_behind_those_there(maker: Visitor, place: Path) -> None:
    text = maker.get("/ingredient/glycerin").text
    there = cells_of(text)["roles"]
    offered = re.findall(r'name="roles-also" value="([^"]+)"', text)
    assert there
    assert "humectant" in f"{there};{';'.join(offered)}"
    assert not set(offered) & {one.strip() for one in there.split(";")}
    fields = {**cells_of(text), "roles-also": offered[0]}
    preview = maker.post("/ingredient/glycerin", **fields)
    assert f"{there}; {offered[0]}" in unescape(preview.text)
    press(maker, preview)
    assert f"{there}; {offered[0]}" in read(place)
    assert f'value="{offered[0]}"> <span>' not in maker.get("/ingredient/glycerin").text
