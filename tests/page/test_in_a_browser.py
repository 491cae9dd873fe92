"""The same work in a real browser: pressed, typed, stepped with keys, printed."""

from __future__ import annotations

import io
from typing import Any

import pytest

from optimiser.export.sheet_html import sheet_html
from optimiser.export.sheet_paper import record_html, table_html
from tests.unit.export.jobs import mask_proposal, mask_request, sheet_of

BALM = "text=Sunflower cleansing balm"
SLOW = 30_000


def begin(tab: Any) -> None:
    tab.click(BALM)
    tab.click("text=Say what must change")
    tab.wait_for_load_state()


def take_brief(tab: Any, name: str) -> None:
    tab.click("summary:has-text('Ready briefs')")
    tab.check(f"input[value={name}]")
    tab.click("text=Take these briefs")
    tab.wait_for_selector("article.proposal", timeout=SLOW)


def test_formula_brief_proposal_kept_and_printed(tab: Any) -> None:
    from pypdf import PdfReader

    begin(tab)
    take_brief(tab, "vegan")
    assert "Carnauba wax" in tab.inner_text("tr.new")
    tab.click("text=Keep this proposal")
    tab.wait_for_selector("text=Open the sheet")
    tab.fill("input[name=batch]", "100 g")
    tab.click("text=Open the sheet")
    tab.wait_for_selector("td.weigh", timeout=SLOW)
    text = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(tab.pdf(format="A4"))).pages)
    assert "Carnauba wax" in text
    assert "7.00 g" in " ".join(text.split())


def test_a_press_that_is_not_answered_at_once_shows_that_work_goes_on(tab: Any) -> None:
    """The server is held back: what is seen then is of the browser alone. Stop comes with it."""
    begin(tab)
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    tab.route("**/say", hold)
    assert not tab.is_visible("#busy .wait")
    tab.select_option("#aim", "cheapest")
    tab.click("text=Take this aim")
    tab.wait_for_selector("#busy button", state="visible")
    tab.wait_for_selector("#at-work[role=status]:not(:empty)", state="attached")
    assert tab.locator("#at-work").text_content() == tab.locator("#busy p").inner_text()
    assert tab.locator("form.htmx-request").count() == 1
    held[0].continue_()
    tab.wait_for_selector("article.proposal", timeout=SLOW)
    assert not tab.is_visible("#busy .wait")
    tab.wait_for_selector("#at-work:empty", state="attached")


def test_a_limit_stepped_with_the_keys_keeps_the_focus(tab: Any) -> None:
    begin(tab)
    field = tab.locator("form.limit", has_text="Share of wax").locator("input[name=high]")
    field.focus()
    tab.keyboard.press("ArrowDown")
    tab.wait_for_selector("article.proposal", timeout=SLOW)
    assert field.input_value() == "7.6"
    assert tab.evaluate("document.activeElement.name") == "high"
    assert "share of wax: 6.3 to 7.6" in tab.inner_text("#said")


def test_what_is_no_number_is_told_and_the_rest_stays(tab: Any) -> None:
    begin(tab)
    field = tab.locator("form.limit", has_text="Share of wax").locator("input[name=high]")
    field.fill("many")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#notice .tell")
    assert "is not a number" in tab.inner_text("#notice")
    assert tab.locator("h1").count() == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_stands_in_the_way_of_anybody(tab: Any, scheme: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    tab.emulate_media(color_scheme=scheme)
    found = {}
    for step in (lambda: None, lambda: tab.click(BALM), lambda: tab.click("text=Say what must change")):
        step()
        tab.wait_for_load_state()
        found[tab.url] = Axe().run(tab).response["violations"]
    take_brief(tab, "vegan")
    found["answer"] = Axe().run(tab).response["violations"]
    assert {
        place: [(v["id"], v["nodes"][0]["html"]) for v in some] for place, some in found.items() if some
    } == {}


def test_nothing_is_cut_on_a_narrow_screen(tab: Any) -> None:
    tab.set_viewport_size({"width": 360, "height": 740})
    start = tab.url
    tab.click("text=Rose and hyaluronate serum")
    tab.wait_for_load_state()
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360
    tab.goto(start)
    begin(tab)
    take_brief(tab, "vegan")
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize("wide", [1280, 360])
def test_a_trial_stands_in_nobodys_way(tab: Any, wide: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    tab.set_viewport_size({"width": wide, "height": 800})
    tab.click(BALM)
    tab.click("button:has-text('Open a trial')")
    tab.wait_for_selector("h2#log")
    for scheme in ("light", "dark"):
        tab.emulate_media(color_scheme=scheme)
        assert [(v["id"], v["nodes"][0]["html"]) for v in Axe().run(tab).response["violations"]] == []
    assert tab.evaluate("document.documentElement.scrollWidth") <= wide


def test_what_is_weighed_can_be_read_on_a_telephone(tab: Any) -> None:
    sheet = sheet_of(mask_proposal(), mask_request())
    tab.goto("about:blank")
    tab.set_viewport_size({"width": 360, "height": 740})
    shown = "[...document.querySelectorAll('td.weigh, .stack td')].filter(td => td.offsetParent)"
    cut = "td => td.scrollWidth > td.clientWidth || td.getBoundingClientRect().right > 360"
    for paper in (sheet_html, table_html, record_html):
        tab.set_content(paper(sheet))
        assert tab.evaluate("document.documentElement.scrollWidth") <= 360
        assert tab.evaluate(f"{shown}.filter(td => td.matches('.weigh')).length") == len(sheet.lines)
        assert tab.evaluate(f"{shown}.filter({cut}).map(td => td.innerText)") == []


def test_what_is_weighed_out_for_long_is_told_and_goes_on_by_itself(tab: Any) -> None:
    """The mask takes seconds to weigh; going back to the wait opens no other trial."""
    tab.click("text=Oat and rose")
    tab.fill("input[name=size]", "230 g")
    with tab.expect_navigation():
        tab.click("button:has-text('Open a trial')")
    tab.wait_for_selector("h2#log", timeout=SLOW)
    opened = tab.url
    tab.go_back()
    tab.wait_for_load_state()
    if "/trial?" in tab.url:
        tab.wait_for_selector("h2#log", timeout=SLOW)
    assert tab.url == opened or tab.url.endswith("/formula/oat-rose-mask")
