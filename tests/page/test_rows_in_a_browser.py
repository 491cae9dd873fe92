"""A new ingredient told whole in a real browser, until a formula's request counts what was told of it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.page.conftest import started
from tests.unit.loading.folders import SOUND
from tests.unit.loading.folders import write as put

SLOW = 30_000
WIDE, NARROW = {"width": 1280, "height": 900}, {"width": 360, "height": 740}
OIL = """\
name: Face oil
product: {use: rinse-off}
phases:
  - phase: A
    lines:
      - {sweet-oil: to 100 %}
      - {almond-oil: 20 %}
"""
SWEET = "sweet-oil,Sweet oil,,Oleum,oil,emollient,liquid,1,99,,1 kg,9.00,2,,\n"
FLAGS = "sweet-oil,tree-nut,free,supplier: letter,\nalmond-oil,tree-nut,contains,supplier: letter,\n"


@pytest.fixture
def own(chromium: Any, tmp_path: Path) -> Iterator[Any]:
    """A visit to a folder of its own."""
    files = {
        "ingredients.csv": SWEET,
        "flags.csv": FLAGS,
        "properties.csv": "sweet-oil,solids,100,,,%,assumed\n",
    }
    whole = {name: SOUND[name] + more for name, more in files.items()}
    with started(put(tmp_path / "table", {**whole, "formulas/oil.yaml": OIL})) as url:
        context = chromium.new_context(viewport=WIDE)
        page = context.new_page()
        page.goto(url)
        yield page
        context.close()


def nothing_in_the_way(tab: Any) -> None:
    """Narrow and dark; back to wide."""
    from axe_playwright_python.sync_playwright import Axe

    tab.set_viewport_size(NARROW)
    tab.emulate_media(color_scheme="dark")
    tab.wait_for_load_state()
    found = Axe().run(tab).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], tab.url
    assert tab.evaluate("document.documentElement.scrollWidth") <= NARROW["width"], tab.url
    tab.set_viewport_size(WIDE)


def write(tab: Any) -> None:
    tab.click("text=Show what would change")
    tab.click("text=Write it")
    assert "Written." in tab.inner_text("main")


def to_the_ingredient(tab: Any) -> None:
    tab.click("text=See it")


def add_ingredient(tab: Any) -> None:
    tab.goto(f"{tab.url.partition('?')[0]}ingredients/add")
    for name, text in (("id", "plum-oil"), ("name", "Plum oil"), ("inci", "Prunus Domestica Seed Oil")):
        tab.fill(f"[name={name}]", text)
    tab.select_option("[name=kind]", "oil")
    for name, text in (
        ("roles", "emollient"),
        ("use_min", "1"),
        ("pack_size", "1 kg"),
        ("pack_price", "3.00"),
    ):
        tab.fill(f"[name={name}]", text)
    write(tab)
    tab.click("text=See it")


def add_flag_by_keys(tab: Any) -> None:
    """Nothing but keys, from the link to what was written."""
    tab.locator("a", has_text="Add a flag").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_selector("[name=flag]")
    tab.focus("[name=flag]")
    for keys in ("tree-nut", "free"):
        tab.keyboard.type(keys)
        tab.keyboard.press("Tab")
    assert tab.evaluate("document.activeElement.name") == "source"
    tab.keyboard.type("supplier: letter of 2026-10")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("text=Write it")
    while tab.evaluate("document.activeElement.innerText") != "Write it":
        tab.keyboard.press("Tab")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("text=Written.")
    tab.click("text=See it with the ingredient")


def add_number(tab: Any) -> None:
    tab.click("text=Add a number")
    tab.select_option("[name=property]", "solids")
    tab.fill("[name=value]", "most")
    tab.click("text=Show what would change")
    assert "2 faults. Nothing was written." in tab.inner_text("main")
    nothing_in_the_way(tab)
    tab.fill("[name=value]", "99")
    tab.fill("[name=source]", "supplier: sheet of 2026-10")
    write(tab)
    tab.click("text=See it with the ingredient")


def add_substance(tab: Any) -> None:
    tab.click("text=Add a substance")
    for name, text in (("substance", "Geraniol"), ("share", "5"), ("source", "supplier: sheet of 2026-10")):
        tab.fill(f"[name={name}]", text)
    write(tab)
    tab.click("text=See it with the ingredient")


def add_way(tab: Any) -> None:
    tab.click("text=Say how it is added")
    tab.select_option("[name=stage]", "oil")
    tab.fill("[name=add_as]", "stir in")
    write(tab)
    tab.click("text=See it with the ingredient")


def test_what_is_told_of_a_new_ingredient_counts(own: Any) -> None:
    home = own.url.partition("?")[0]
    for tell in (add_ingredient, add_flag_by_keys, add_number, add_substance, add_way):
        tell(own)
    own.goto(f"{home}formula/oil")
    own.click("text=Say what must change")
    own.select_option("#leave-out", "flag:tree-nut")
    own.click("button:has-text('Leave out')")
    own.wait_for_selector("#said li", timeout=SLOW)
    own.select_option("#swap-out", "almond-oil")
    own.select_option("#swap-use", "plum-oil")
    own.click("button:has-text('Swap')")
    own.wait_for_selector("article.proposal tr.new:has-text('Plum oil')", timeout=SLOW)
    assert "Geraniol" in own.text_content("main")
