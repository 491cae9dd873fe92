"""The forms of the table of ingredients, filled in as a browser does."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path
from typing import Any

from tests.page.conftest import Visitor
from tests.unit.loading.folders import SOUND

FILE = "ingredients.csv"
NAMES = SOUND[FILE].partition("\n")[0].split(",")


def read(place: Path, name: str = FILE) -> str:
    return (place / name).read_bytes().decode()


def cells_of(text: str) -> dict[str, str]:
    """The fields of the form as a browser would send them."""
    found = {name: re.search(rf'name="{name}" value="([^"]*)"', text) for name in [*NAMES, "seen"]}
    cells = {name: unescape(one[1]) for name, one in found.items() if one is not None}
    for name in ("kind", "form"):
        chosen = re.search(rf'name="{name}".*?</select>', text, re.DOTALL)
        picked = re.search(r'value="([^"]*)" selected', chosen[0]) if chosen else None
        cells[name] = picked[1] if picked else ""
    notes = re.search(r"<textarea[^>]*>\n(.*?)</textarea>", text, re.DOTALL)
    return {**cells, "notes": unescape(notes[1]) if notes else ""}


def typed(maker: Visitor, who: str, /, **cells: str) -> Any:
    """The ingredient's form with these cells typed anew; the preview, or what is wrong."""
    path = f"/ingredient/{who}"
    return maker.post(path, **{**cells_of(maker.get(path).text), **cells})


def press(maker: Visitor, answer: Any) -> Any:
    """The write button of a preview."""
    shown = re.search(r'name="shown" value="(\w+)"', answer.text)
    assert shown is not None
    return maker.post(answer.url.path, shown=shown[1])


def choose(maker: Visitor, answer: Any, way: str) -> Any:
    now = re.search(r'name="now" value="(\w+)"', answer.text)
    assert now is not None
    return maker.post(f"{answer.url.path}/{way}", now=now[1])


def send(maker: Visitor, content: bytes, name: str = "prices.csv", **fields: str) -> Any:
    data = {"token": maker.keys.form, **fields}
    return maker.client.post("/ingredients/bring", data=data, files={"file": (name, content)})
