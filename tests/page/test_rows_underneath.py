"""A table of facts that changed underneath: both are seen, nothing is overwritten, nothing typed is lost."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.page.conftest import Visitor
from tests.page.row_forms import added, fields_of, links, row_at
from tests.page.table_forms import FILE, cells_of, choose, press, read
from tests.unit.loading.folders import SOUND, write

FLAGS, PROPERTIES, SHELF = "flags.csv", "properties.csv", "shelf.csv"


@pytest.fixture(autouse=True)
def bare(place: Path) -> None:
    (place / SHELF).unlink(missing_ok=True)


def underneath(maker: Visitor, place: Path, before: str, after: str, **cells: str) -> Any:
    """Cells typed into a row of kaolin that was opened before an editor changed the file."""
    path = row_at(maker, "kaolin", "properties")
    form = fields_of(maker.get(path).text)
    write(place, {PROPERTIES: read(place, PROPERTIES).replace(before, after)})
    return maker.post(path, **{**form, **cells})


def test_both_are_shown_and_mine_can_be_taken(maker: Visitor, place: Path) -> None:
    shown = underneath(maker, place, "99,98,100", "98.7,98,99.9", value="99.2", source="measured: 5 g dried")
    assert shown.status_code == 409
    assert "<bdi>properties.csv</bdi> changed underneath" in shown.text
    row = re.search(r"Value <small>both changed it</small>.*?</tr>", shown.text, re.DOTALL)
    assert row is not None
    assert re.findall(r"<bdi>(.*?)</bdi>", row[0]) == ["99", "98.7", "99.2"]
    preview = choose(maker, shown, "mine")
    assert "98.7,98,99.9" in read(place, PROPERTIES)
    press(maker, preview)
    assert "kaolin,solids,99.2,98,99.9,%,measured: 5 g dried\n" in read(place, PROPERTIES)


def test_theirs_can_be_taken_and_mine_is_not_lost(maker: Visitor, place: Path) -> None:
    shown = underneath(maker, place, "99,98,100", "98.7,98,99.9", value="99.2")
    before = read(place, PROPERTIES)
    left = choose(maker, shown, "theirs")
    assert fields_of(left.text)["value"] == "98.7"
    (again,) = links(left.text, "look at it again")
    assert "99.2" in maker.get(again).text
    assert read(place, PROPERTIES) == before


def test_a_row_that_is_gone_comes_back_as_a_new_one(maker: Visitor, place: Path) -> None:
    line = "kaolin,solids,99,98,100,%,invented demo data\n"
    shown = underneath(maker, place, line, "", value="99.2")
    assert "The row is gone" in shown.text
    press(maker, choose(maker, shown, "mine"))
    kept = SOUND[PROPERTIES].replace(line, "")
    assert read(place, PROPERTIES) == kept + "kaolin,solids,99.2,98,100,%,invented demo data\n"


def test_a_file_that_came_meanwhile_is_added_to(maker: Visitor, place: Path) -> None:
    shown = added(maker, "kaolin", "shelf", lot="K-2", amount="900 g")
    theirs = "lot,ingredient,amount\nT-1,water,2 kg\n"
    write(place, {SHELF: theirs})
    conflict = press(maker, shown)
    assert "<bdi>shelf.csv</bdi> changed underneath" in conflict.text
    assert "water · T-1" in conflict.text
    assert read(place, SHELF) == theirs
    press(maker, choose(maker, conflict, "mine"))
    assert read(place, SHELF) == theirs + "K-2,kaolin,900 g\n"


def test_the_same_flag_told_in_two_tabs_stands_once(maker: Visitor, place: Path) -> None:
    mine = added(maker, "glycerin", "flags", flag="palm", state="free", source="supplier: letter")
    press(maker, added(maker, "glycerin", "flags", flag="palm", state="contains", source="supplier: sheet"))
    conflict = press(maker, mine)
    refused = choose(maker, conflict, "mine")
    assert refused.status_code == 409
    assert "contains on line 5" in refused.text
    assert read(place, FLAGS) == SOUND[FLAGS] + "glycerin,palm,contains,supplier: sheet,\n"
    left = choose(maker, conflict, "theirs")
    assert left.url.path == "/ingredient/glycerin"
    assert "What you had typed is kept" in left.text


def test_a_row_to_be_taken_out_that_changed_is_shown_first(maker: Visitor, place: Path) -> None:
    shown = maker.post(row_at(maker, "rose-clay", "flags").replace("/row?", "/remove?"))
    write(place, {FLAGS: SOUND[FLAGS].replace("contains,invented", "unknown,invented")})
    conflict = press(maker, shown)
    assert conflict.status_code == 409
    assert "rose-clay" in read(place, FLAGS)
    press(maker, choose(maker, conflict, "mine"))
    assert "rose-clay" not in read(place, FLAGS)


def test_flags_of_one_paper_go_on_top_of_what_others_wrote(maker: Visitor, place: Path) -> None:
    mine = maker.post("/ingredient/glycerin/flags/several", **{"flag:palm": "free", "source": "supplier"})
    theirs = SOUND[FLAGS] + "water,palm,free,supplier,\n"
    write(place, {FLAGS: theirs})
    press(maker, choose(maker, press(maker, mine), "mine"))
    assert read(place, FLAGS) == theirs + "glycerin,palm,free,supplier,\n"


def without(place: Path, file: str, line: str) -> None:
    text = read(place, file)
    assert line in text
    write(place, {file: text.replace(line, "")})


TOO_OLD = "0" * 64


def test_typed_text_of_a_row_that_is_gone_and_was_forgotten_comes_back(maker: Visitor, place: Path) -> None:
    line = "kaolin,solids,99,98,100,%,invented demo data\n"
    path = row_at(maker, "kaolin", "properties")
    form = {**fields_of(maker.get(path).text), "seen": TOO_OLD, "value": "99.2"}
    without(place, PROPERTIES, line)
    shown = maker.post(path, **form)
    assert shown.status_code == 409
    assert "This row is not in properties.csv any more." in shown.text
    assert 'action="/ingredient/kaolin/properties/add"' in shown.text
    again = fields_of(shown.text)
    assert again["value"] == "99.2"
    press(maker, maker.post("/ingredient/kaolin/properties/add", **again))
    assert read(place, PROPERTIES).endswith("kaolin,solids,99.2,98,100,%,invented demo data\n")


@pytest.mark.parametrize("seen", [{}, {"seen": TOO_OLD}], ids=["held", "forgotten"])
def test_typed_text_of_an_ingredient_called_otherwise_now_comes_back(
    maker: Visitor, place: Path, seen: dict[str, str]
) -> None:
    path = row_at(maker, "rose-clay", "flags")
    form = {**fields_of(maker.get(path).text), **seen, "source": "supplier: letter of May"}
    adding = maker.get("/ingredient/rose-clay/flags/add").text
    text = read(place, FILE)
    write(place, {FILE: text.replace("\nrose-clay,", "\nclay-of-roses,")})
    for at, typed in ((path, form), ("/ingredient/rose-clay/flags/add", {**fields_of(adding), **form})):
        shown = maker.post(at, **typed)
        assert shown.status_code == 409
        assert "No ingredient of the table is called rose-clay any more" in shown.text
        assert fields_of(shown.text)["source"] == "supplier: letter of May"
        assert "Show what would change" not in shown.text
        assert links(shown.text, "Back to it") == []
    assert read(place, FLAGS) == SOUND[FLAGS]


def test_typed_text_of_an_ingredient_that_is_gone_becomes_a_new_one(maker: Visitor, place: Path) -> None:
    line = next(one for one in SOUND[FILE].splitlines(keepends=True) if one.startswith("citric"))
    name = line.partition(",")[0]
    form = {**cells_of(maker.get(f"/ingredient/{name}").text), "seen": TOO_OLD, "notes": "of the new sack"}
    without(place, FILE, line)
    shown = maker.post(f"/ingredient/{name}", **form)
    assert shown.status_code == 409
    assert "This ingredient is not in ingredients.csv any more." in shown.text
    assert 'action="/ingredients/add"' in shown.text
    assert cells_of(shown.text)["notes"] == "of the new sack"


def test_a_flag_told_elsewhere_meanwhile_stands_beside_what_was_chosen(maker: Visitor, place: Path) -> None:
    told = {"flag:palm": "free", "flag:soy": "free", "source": "supplier"}
    mine = maker.post("/ingredient/glycerin/flags/several", **told)
    write(place, {FLAGS: SOUND[FLAGS] + "glycerin,palm,contains,supplier,\n"})
    conflict = press(maker, mine)
    assert conflict.status_code == 409
    refused = choose(maker, conflict, "mine")
    form = maker.get(f"{conflict.url.path}/fields").text
    for text in (refused.text, form):
        palm = re.search(r'name="flag:palm".*?</div>', text, re.DOTALL)
        assert palm is not None
        assert 'value="free" selected' in palm[0]
        assert "Stands already: <bdi>contains</bdi>." in palm[0]
        (row,) = links(palm[0], "change its row")
        assert fields_of(maker.get(row).text)["state"] == "contains"
        assert text.count("Stands already") == 1


def test_several_flags_of_an_ingredient_that_has_another_id_by_now_are_kept(
    maker: Visitor, place: Path
) -> None:
    """What was typed comes back, with why it cannot be written there."""
    text = (place / "ingredients.csv").read_text(encoding="utf-8")
    assert maker.get("/ingredient/glycerin/flags/several").status_code == 200
    (place / "ingredients.csv").write_text(text.replace("\nglycerin,", "\nglycerol,"), encoding="utf-8")
    told = {"source": "supplier's letter", "flag:palm": "free"}
    answer = maker.post("/ingredient/glycerin/flags/several", **told)
    assert answer.status_code == 409
    assert "No ingredient of the table is called glycerin any more" in answer.text
    assert 'value="supplier&#39;s letter"' in answer.text
    assert '<option value="free" selected>' in answer.text
    assert "Show what would change" not in answer.text
    assert maker.get("/ingredient/glycerin/flags/several").status_code == 404
