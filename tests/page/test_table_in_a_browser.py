"""The table of ingredients in a real browser: two tabs on one row, and a spreadsheet that is broken."""

from __future__ import annotations

from typing import Any

import pytest

ROW = "ingredient/birch-sap"


def home(tab: Any) -> str:
    return str(tab.url).partition("?")[0].rstrip("/")


def violations(tab: Any) -> list[tuple[str, str]]:
    from axe_playwright_python.sync_playwright import Axe

    return [(one["id"], one["nodes"][0]["html"]) for one in Axe().run(tab).response["violations"]]


def test_two_tabs_on_one_row_and_mine_is_taken(tab: Any) -> None:
    start = home(tab)
    tab.click("text=The table of ingredients")
    tab.fill("[name=q]", "birch")
    tab.keyboard.press("Enter")
    tab.click("text=Birch sap")
    tab.fill("[name=pack_price]", "8.90")
    tab.fill("[name=notes]", "mine")
    other = tab.context.new_page()
    other.goto(f"{start}/{ROW}")
    other.fill("[name=pack_price]", "8.70")
    other.click("text=Show what would change")
    other.click("text=Write it")
    assert "Written." in other.inner_text("main")
    tab.click("text=Show what would change")
    told = tab.inner_text("main")
    assert "ingredients.csv changed underneath" in told
    assert " ".join(tab.inner_text("tr.clash").split()).endswith("8.60 8.70 8.90")
    assert violations(tab) == []
    tab.click("text=Take mine")
    assert "8.70" in tab.inner_text("td.was >> nth=0")
    tab.click("text=Write it")
    tab.click("text=See it")
    assert (tab.input_value("[name=pack_price]"), tab.input_value("[name=notes]")) == ("8.90", "mine")
    tab.click("summary:has-text('Written last')")
    tab.click("text=Take it back")
    assert "Taken back" in tab.inner_text("main")
    tab.goto(f"{start}/{ROW}")
    assert (tab.input_value("[name=pack_price]"), tab.input_value("[name=notes]")) == ("8.70", "")


@pytest.mark.parametrize("wide", [1280, 360])
def test_a_broken_spreadsheet_is_told_at_its_cells(tab: Any, wide: int) -> None:
    tab.set_viewport_size({"width": wide, "height": 800})
    tab.goto(f"{home(tab)}/ingredients/bring")
    rows = b"id,name,inci,kind,pack_price\nbirch-sap,,,,many\nnew-wax,New wax,,waxx,\n"
    sent = {"name": "prices.csv", "mimeType": "text/csv", "buffer": rows}
    tab.set_input_files("[name=file]", files=[sent])
    tab.click("text=Show what it would change")
    told = tab.inner_text("main")
    assert "prices.csv cannot be taken in yet" in told
    for place in ("prices.csv:2:pack_price", "prices.csv:3:inci", "prices.csv:3:kind"):
        assert place in told
    assert tab.locator("text=Write it").count() == 0
    assert violations(tab) == []
    assert tab.evaluate("document.documentElement.scrollWidth") <= wide


def test_a_file_that_changes_under_a_request_is_named_by_itself(tab: Any) -> None:
    start = home(tab)
    tab.click("text=Sunflower cleansing balm")
    tab.click("text=Say what must change")
    other = tab.context.new_page()
    other.goto(f"{start}/{ROW}")
    other.fill("[name=supplier]", "Birch & Sons")
    other.click("text=Show what would change")
    other.click("text=Write it")
    tab.wait_for_selector("#underneath .tell", timeout=20_000)
    told = tab.inner_text("#underneath")
    assert "ingredients.csv changed underneath: 1 row changed." in told
    tab.click("text=Take it up")
    assert tab.locator("#underneath .tell").count() == 0
