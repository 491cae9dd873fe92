"""The files that an open request speaks of are held however often they change; else the screen says so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from optimiser.page import desk
from optimiser.page.desk import MOST_KEPT, Desk
from tests.page.conftest import Visitor
from tests.unit.loading.folders import MASK, write

PART = {"hx-request": "true"}
STILL = "still of the files as they were"
LOST = "how they were is not held any more"


def rename(place: Path, number: int) -> None:
    text = re.sub(r"(?m)^name: .*$", f"name: Mask number {number}", MASK)
    assert text != MASK
    (place / "formulas/mask.yaml").write_text(text, encoding="utf-8")


def change_often(maker: Visitor, place: Path) -> None:
    for number in range(MOST_KEPT + 2):
        rename(place, number)
        maker.get("/")


def heading(text: str) -> str:
    found = re.search(r"<h1><bdi>(.*?)</bdi>", text)
    assert found is not None
    return found[1]


def test_a_request_keeps_its_files_however_often_they_change(maker: Visitor, place: Path) -> None:
    at = maker.change("mask")
    before = heading(maker.get(at).text)
    change_often(maker, place)
    text = maker.get(at).text
    assert heading(text) == before
    assert STILL in text
    assert LOST not in text


def test_a_request_whose_files_are_not_held_any_more_says_so(
    maker: Visitor, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk, "MOST_BYTES", 0)
    at = maker.change("mask")
    change_often(maker, place)
    poll = maker.get(f"{at}/underneath?told=7", **PART).text
    assert LOST in poll
    assert "may still be of the files as they were" in poll, "which files the screen has is not known"
    for screen in ("", "/why", "/trade"):
        assert maker.get(f"{at}{screen}/underneath?told=lost", **PART).status_code == 204
        assert "may still be" in maker.get(f"{at}{screen}/underneath?told=", **PART).text
    text = maker.get(at).text
    assert heading(text) == f"Mask number {MOST_KEPT + 1}"
    assert LOST in text
    assert "The request now speaks of the files as they are." in text
    assert STILL not in text
    rename(place, 99)
    text = maker.get(at).text
    assert heading(text) == f"Mask number {MOST_KEPT + 1}"
    assert STILL in text
    now = re.search(r'name="now" value="(\d+)"', text)
    assert now is not None
    text = maker.post(f"{at}/files", way="take", now=now[1]).text
    assert LOST not in text
    assert heading(text) == "Mask number 99"


def test_a_step_after_files_were_lost_shows_all_anew(
    maker: Visitor, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing of the limits beside the answer stays of other files than the answer."""
    monkeypatch.setattr(desk, "MOST_BYTES", 0)
    at = maker.change("mask")
    change_often(maker, place)
    part = maker.post(f"{at}/limit", PART, rule="line:kaolin", low="", high="", revision="0")
    assert part.headers["hx-retarget"] == "#work"
    assert LOST in part.text
    assert heading(part.text) == f"Mask number {MOST_KEPT + 1}"


def test_older_states_are_kept_by_weight_the_latest_request_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "bench"
    write(place, {"formulas/mask.yaml": MASK})
    wanted: list[int] = []
    table = Desk(place, lambda: wanted)
    states = []
    for number in range(4):
        rename(place, number)
        states.append(table.look())
    monkeypatch.setattr(desk, "MOST_KEPT", 1)
    monkeypatch.setattr(desk, "MOST_BYTES", 2 * states[0].weight)
    wanted.extend(states[number].stamp for number in (0, 2, 1))
    rename(place, 4)
    table.look()
    held = [number for number, one in enumerate(states) if table.seen(one.stamp) is one]
    assert held == [1, 2]
