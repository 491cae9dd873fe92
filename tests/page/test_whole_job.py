"""The whole job in a browser: from an empty folder to a printed sheet, by mouse, by keys, in two tabs."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.page.conftest import started

BALM = "Sunflower cleansing balm"
SLOW = 120_000
MOST_TABS = 150
THERE = (
    "([css, text]) => document.activeElement.matches(css) && "
    "document.activeElement.textContent.includes(text)"
)
NARROW = {"width": 360, "height": 740}
WIDE = {"width": 1280, "height": 900}
PAPER = "td.weigh"
WEIGHED = (
    "Carnauba wax new Copernicia Cerifera Cera – 7.0 7.00 6.93 7.07",
    "Shea butter Butyrospermum Parkii Butter 12.0 12.0 12.00 11.88 12.12",
    "Phase A together 99.2 99.2 99.20",
    "All phases together 100.0 % = 100.00 g",
)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty folder; what it becomes is done on the page."""
    return tmp_path_factory.mktemp("empty")


@pytest.fixture(scope="module")
def window(chromium: Any, place: Path) -> Iterator[Any]:
    """One browser for all tests here; whatever the page's own rules refuse it is told at the end."""
    with started(place) as url:
        context = chromium.new_context(viewport=WIDE)
        context.set_default_timeout(SLOW)
        said: list[str] = []
        context.on("console", lambda one: said.append(one.text) if one.type == "error" else None)
        context.on("weberror", lambda fault: said.append(str(fault.error)))
        first = context.new_page()
        first.goto(url)
        context.home = url.partition("?")[0]
        context.said = said
        yield context
        context.close()


@pytest.fixture(scope="module")
def begun(window: Any, place: Path) -> str:
    """What the empty folder showed; the folder is started by the press it offers."""
    page = window.pages[0]
    page.wait_for_selector("text=Start with the invented workshop")
    shown = str(page.inner_text("main"))
    assert not list(place.iterdir())
    page.click("text=The 39 files it writes")
    told = [one.replace("/", " ") for one in page.locator("ul.files li").all_inner_texts()]
    page.click("text=Start with the invented workshop")
    page.wait_for_selector(f"text={BALM}")
    lying = [str(one.relative_to(place)).replace("/", " ") for one in place.rglob("*") if one.is_file()]
    assert sorted(told) == sorted(lying)
    return shown


@pytest.fixture
def tab(window: Any, begun: str) -> Iterator[Any]:
    page = window.new_page()
    page.goto(window.home)
    yield page
    page.close()
    faults = [one for one in window.said if "409" not in one]  # an answer of 409 is told as an error too
    assert begun
    assert faults == []


def pressed(tab: Any, words: str) -> None:
    tab.click(f"text={words}")


def asked(tab: Any) -> None:
    pressed(tab, BALM)
    pressed(tab, "Say what must change")


def vegan(tab: Any) -> None:
    tab.click("summary:has-text('Ready briefs')")
    tab.check("input[value=vegan]")
    pressed(tab, "Take these briefs")
    tab.wait_for_selector("article.proposal")


def hold(tab: Any, name: str, least: str) -> None:
    tab.select_option("#hold", name)
    tab.fill("form:has(#hold) input[name=low]", least)
    tab.click("button:text-is('Hold')")


def words_of(pdf: bytes) -> list[list[str]]:
    """The words of each sheet of paper."""
    from pypdf import PdfReader

    return [page.extract_text().split() for page in PdfReader(io.BytesIO(pdf)).pages]


def printed_as_shown(tab: Any) -> str:
    """The text on paper: every word of the screen, and besides them only what stands at the foot."""
    tab.wait_for_load_state()
    papers = words_of(tab.pdf(format="A4"))
    paper = Counter(word for words in papers for word in words)
    screen = Counter(tab.inner_text("body").split())
    assert screen - paper == Counter()
    foot = {"Computed", "2Computed", "proposal,", "not", "tested", "·", "code", "of", "1", "2"}
    assert {word for word in paper - screen if len(word) != len("34202c0a4f46")} <= foot
    return " ".join(word for words in papers for word in words)


def test_an_empty_folder_says_what_it_can_be_started_with(begun: str) -> None:
    assert "Nothing is here yet" in begun
    assert "Nothing is written before you press." in begun


def test_a_folder_that_is_not_empty_is_never_started_over(tab: Any, place: Path) -> None:
    before = {one: one.read_bytes() for one in place.rglob("*") if one.is_file()}
    token = tab.evaluate(
        "fetch(document.querySelector('a[href^=\"/formula/\"]').href).then(r => r.text())"
        '.then(t => t.match(/name="token" value="([^"]+)"/)[1])'
    )
    status = tab.evaluate(
        "token => fetch('/begin', {method: 'POST', body: new URLSearchParams({token})}).then(r => r.status)",
        token,
    )
    assert status == 409
    assert {one: one.read_bytes() for one in place.rglob("*") if one.is_file()} == before


def test_from_an_empty_folder_to_a_printed_sheet(tab: Any, place: Path) -> None:
    asked(tab)
    vegan(tab)
    pressed(tab, "Keep this proposal")
    tab.wait_for_selector("text=Open the sheet")
    assert len(list((place / "proposals").glob("sunflower-balm-vegan-*.yaml"))) == 1
    tab.fill("input[name=batch]", "100 g")
    pressed(tab, "Open the sheet")
    tab.wait_for_selector(PAPER)
    paper = printed_as_shown(tab)
    for line in WEIGHED:
        assert line in paper


def reach(tab: Any, wanted: str, holds: str = "") -> None:
    """Steps on with the tab key until `wanted` has the focus, which must be seen."""
    for _ in range(MOST_TABS):
        tab.keyboard.press("Tab")
        if tab.evaluate(THERE, [wanted, holds]):
            break
    else:
        raise AssertionError(f"{wanted} {holds} is not reached with the tab key")
    assert tab.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"


def test_the_same_job_with_keys_alone(tab: Any) -> None:
    press: Callable[[str], None] = tab.keyboard.press

    def follow(address: str) -> None:
        press("Enter")
        tab.wait_for_url(f"**/{address}/**")

    reach(tab, "a", BALM)
    follow("formula")
    reach(tab, "button", "Say what must change")
    follow("change")
    reach(tab, "summary", "Ready briefs")
    press("Enter")
    reach(tab, "input[value=vegan]")
    press("Space")
    reach(tab, "button", "Take these briefs")
    press("Enter")
    tab.wait_for_selector("article.proposal")
    assert tab.evaluate("document.activeElement.textContent") == "Take these briefs"
    reach(tab, "button", "Keep this proposal")
    follow("proposal")
    reach(tab, "input[name=batch]")
    tab.keyboard.type("100 g")
    reach(tab, "button", "Open the sheet")
    follow("sheet")
    tab.wait_for_selector(PAPER)
    assert WEIGHED[0] in printed_as_shown(tab)


def test_what_is_impossible_is_cured_by_one_press(tab: Any) -> None:
    asked(tab)
    hold(tab, "shea-butter", "15")
    tab.wait_for_selector("ul.cures")
    assert tab.locator("ul.clash li").count() == 2
    assert tab.locator("text=Keep this proposal").count() == 0
    pressed(tab, "Allow share of butter: at most 15 %")
    tab.wait_for_selector("text=Keep this proposal")
    row = tab.inner_text("tr:has-text('Shea butter')")
    assert "15.000" in row
    assert "+3.000" in row
    pressed(tab, "Undo")
    tab.wait_for_selector("ul.cures")


def test_two_tabs_on_one_request(tab: Any, window: Any) -> None:
    asked(tab)
    other = window.new_page()
    other.goto(tab.url)
    tab.select_option("#leave-out", "beeswax")
    tab.click("button:text-is('Leave out')")
    tab.wait_for_selector("#said :text('without Beeswax')")
    other.select_option("#leave-out", "shea-butter")
    other.click("button:text-is('Leave out')")
    other.wait_for_selector("#notice .stale")
    both = other.inner_text("#notice")
    assert "without Beeswax" in both
    assert "without Shea butter" in both
    other.click("text=Go on with this, as a request of its own")
    other.wait_for_selector("#said :text('without Shea butter')")
    tab.reload()
    assert "without Beeswax" in tab.inner_text("#said")
    assert "Shea" not in tab.inner_text("#said")
    other.close()


def test_on_a_narrow_screen_nothing_is_cut(tab: Any) -> None:
    tab.set_viewport_size(NARROW)
    wide = "document.documentElement.scrollWidth"
    found = {"/": tab.evaluate(wide)}
    asked(tab)
    vegan(tab)
    found["change"] = tab.evaluate(wide)
    pressed(tab, "Keep this proposal")
    tab.wait_for_selector("text=Open the sheet")
    found["proposal"] = tab.evaluate(wide)
    pressed(tab, "Open the sheet")
    tab.wait_for_selector(PAPER)
    found["sheet"] = tab.evaluate(wide)
    assert {where: one for where, one in found.items() if one > NARROW["width"]} == {}


def lightness(tab: Any, what: str) -> int:
    """The sum of red, green and blue of a colour the page uses."""
    colour = tab.evaluate(f"getComputedStyle(document.documentElement).{what}")
    return sum(int(part) for part in colour.partition("(")[2].rstrip(")").split(",")[:3])


def test_in_the_dark_the_page_is_dark_and_paper_stays_white(tab: Any) -> None:
    asked(tab)
    tab.emulate_media(color_scheme="dark")
    assert lightness(tab, "backgroundColor") < 150 < lightness(tab, "color")
    tab.emulate_media(color_scheme="dark", media="print")
    assert lightness(tab, "backgroundColor") > 600
    assert lightness(tab, "color") < 150


def test_a_request_on_paper_has_no_forms(tab: Any) -> None:
    asked(tab)
    vegan(tab)
    paper = " ".join(word for words in words_of(tab.pdf(format="A4")) for word in words)
    assert "Carnauba wax" in paper
    assert "To do because of the change" in paper
    for gone in ("Keep this proposal", "Take these briefs", "Undo"):
        assert gone not in paper
