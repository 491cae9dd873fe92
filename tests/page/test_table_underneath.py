"""The table of ingredients changed underneath: whoever typed sees both, and nothing is lost."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from tests.page.conftest import Visitor
from tests.page.table_forms import FILE, cells_of, choose, press, read, send, typed
from tests.unit.loading.folders import MASK, SOUND, write


def underneath(maker: Visitor, place: Path, before: str, after: str, **cells: str) -> Any:
    """Cells typed into a form that was opened before an editor changed the file."""
    form = cells_of(maker.get("/ingredient/kaolin").text)
    (place / FILE).write_bytes(read(place).replace(before, after).encode())
    return maker.post("/ingredient/kaolin", **{**form, **cells})


def test_what_changed_underneath_is_named_and_mine_can_be_taken(maker: Visitor, place: Path) -> None:
    shown = underneath(maker, place, "4.00", "4.20", pack_price="4.50", notes="mine")
    assert shown.status_code == 409
    assert "<bdi>ingredients.csv</bdi> changed underneath" in shown.text
    assert "1 row changed" in shown.text
    row = re.search(r"Price of the pack <small>both changed it</small>.*?</tr>", shown.text, re.DOTALL)
    assert row is not None
    assert re.findall(r"<bdi>(.*?)</bdi>", row[0]) == ["4.00", "4.20", "4.50"]
    before = read(place)
    preview = choose(maker, shown, "mine")
    assert read(place) == before
    assert re.search(r'class="was"><bdi>4.20</bdi></td><td class="is"><bdi>4.50</bdi>', preview.text)
    press(maker, preview)
    assert read(place) == SOUND[FILE].replace("4.00,2,,", "4.50,2,,mine")


def test_mine_leaves_their_other_cells_alone(maker: Visitor, place: Path) -> None:
    shown = underneath(maker, place, "Invented,1 kg", "Elsewhere,2 kg", pack_price="4.50")
    press(maker, choose(maker, shown, "mine"))
    assert read(place) == SOUND[FILE].replace("Invented,1 kg,4.00", "Elsewhere,2 kg,4.50")


def test_theirs_can_be_taken_and_mine_is_not_lost(maker: Visitor, place: Path) -> None:
    shown = underneath(maker, place, "4.00", "4.20", pack_price="4.50")
    before = read(place)
    left = choose(maker, shown, "theirs")
    assert cells_of(left.text)["pack_price"] == "4.20"
    again = re.search(r'What you had typed is kept until the page ends: <a href="(/edit/[^"]+)"', left.text)
    assert again is not None
    assert "4.50" in maker.get(again[1]).text
    assert read(place) == before


def test_a_row_that_is_gone_comes_back_as_a_new_one(maker: Visitor, place: Path) -> None:
    form = cells_of(maker.get("/ingredient/citric-acid-20").text)
    kept = "\n".join(one for one in SOUND[FILE].splitlines() if not one.startswith("citric")) + "\n"
    (place / FILE).write_bytes(kept.encode())
    shown = maker.post("/ingredient/citric-acid-20", **{**form, "notes": "mine"})
    assert "The row is gone" in shown.text
    press(maker, choose(maker, shown, "mine"))
    row = next(one for one in SOUND[FILE].splitlines() if one.startswith("citric"))
    assert read(place) == f"{kept}{row}mine\n"


def test_it_may_change_again_and_again(maker: Visitor, place: Path) -> None:
    shown = underneath(maker, place, "4.00", "4.20", pack_price="4.50")
    (place / FILE).write_bytes(read(place).replace("4.20", "4.30").encode())
    still = choose(maker, shown, "mine")
    assert still.status_code == 409
    assert "4.30" in still.text
    preview = choose(maker, still, "mine")
    (place / FILE).write_bytes(read(place).replace("4.30", "4.40").encode())
    assert "changed underneath" in press(maker, preview).text
    assert "4.40" in read(place)


def test_a_table_of_facts_that_changed_stops_a_removal_too(maker: Visitor, place: Path) -> None:
    shown = maker.post("/ingredient/almond-oil/remove")
    write(
        place,
        {
            "properties.csv": SOUND["properties.csv"] + "almond-oil,solids,1,,,%,assumed\n",
            "formulas/mask.yaml": MASK,
        },
    )
    answer = press(maker, shown)
    assert "<bdi>properties.csv</bdi> changed underneath" in answer.text
    assert "almond-oil · solids" in answer.text
    assert "almond-oil" in read(place)


def test_a_form_too_old_to_tell_loses_nothing(maker: Visitor, place: Path) -> None:
    form = cells_of(maker.get("/ingredient/kaolin").text)
    answer = maker.post("/ingredient/kaolin", **{**form, "seen": "0" * 64, "pack_price": "4.50"})
    assert answer.status_code == 409
    assert "opened too long ago" in answer.text
    assert 'value="4.50"' in answer.text
    assert "In the file: <bdi>4.00</bdi>" in answer.text


def test_the_file_may_change_while_a_spreadsheet_is_looked_at(maker: Visitor, place: Path) -> None:
    shown = send(maker, b"id,pack_price\nkaolin,4.50\n")
    (place / FILE).write_bytes(read(place).replace("6.50", "6.60").encode())
    conflict = press(maker, shown)
    assert "<bdi>ingredients.csv</bdi> changed underneath" in conflict.text
    press(maker, choose(maker, conflict, "mine"))
    assert read(place) == SOUND[FILE].replace("4.00", "4.50").replace("6.50", "6.60")


def test_going_on_with_a_preview_does_not_undo_what_others_wrote(maker: Visitor, place: Path) -> None:
    shown = typed(maker, "kaolin", notes="mine")
    on = re.search(r'<a href="(/edit/[^"]+/fields)">', shown.text)
    assert on is not None
    assert cells_of(maker.get(on[1]).text)["notes"] == "mine"
    (place / FILE).write_bytes(read(place).replace("4.00", "4.20").encode())
    again = maker.get(on[1])
    assert again.status_code == 409
    press(maker, choose(maker, again, "mine"))
    assert read(place) == SOUND[FILE].replace("4.00,2,,", "4.20,2,,mine")
