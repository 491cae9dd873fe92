"""Every screen held to the accessibility rules, wide and light, narrow and dark, in one browser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.page.conftest import started
from tests.page.test_trading_and_why import HELD, PAIR
from tests.trials_of_a_balm import balm_with_trials

SLOW = 120_000
OWN_WORDS = "a long line of its own"
READINGS = b"trial,day,measure,value,unit\nballm-1,2026-11-05,density,0.95,g/ml\nbalm-1,x,ph,5,\n"
SIZES = {"wide": ({"width": 1280, "height": 900}, "light"), "narrow": ({"width": 360, "height": 740}, "dark")}


class Maker:
    """Posts with the token of the page and the cookie of the browser."""

    def __init__(self, window: Any, home: str) -> None:
        self.window, self.home = window, home
        begun = window.request.get(f"{home}formula/sunflower-balm", timeout=SLOW).text()
        self.token = re.search(r'name="token" value="([^"]+)"', begun)[1]  # type: ignore[index]

    def post(self, path: str, **fields: Any) -> Any:
        about = {"token": self.token, **fields}
        kind = "multipart" if any(isinstance(one, dict) for one in fields.values()) else "form"
        return self.window.request.post(f"{self.home}{path}", timeout=SLOW, **{kind: about})

    def seen(self, path: str) -> str:
        text = self.window.request.get(f"{self.home}{path}", timeout=SLOW).text()
        return str(re.search(r'name="seen" value="(\d+)"', text)[1])  # type: ignore[index]

    def change(self, *steps: dict[str, str]) -> str:
        at = self.post("formula/sunflower-balm/change").url.removeprefix(self.home)
        for revision, step in enumerate(steps):
            what = "limit" if "rule" in step else "say"
            self.post(f"{at}/{what}", revision=str(revision), **step)
        return str(at)


def line(name: str, low: str, high: str = "") -> dict[str, str]:
    return {"rule": "line:", "name": name, "low": low, "high": high}


@pytest.fixture(scope="module")
def page(chromium: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    place = balm_with_trials(tmp_path_factory.mktemp("seen") / "table", 3)
    with started(place) as url:
        window = chromium.new_context()
        window.set_default_timeout(SLOW)
        page = window.new_page()
        page.goto(url)
        page.maker = Maker(window, url.partition("?")[0])
        yield page
        window.close()


@pytest.fixture(scope="module")
def screens(page: Any) -> dict[str, tuple[str, str]]:
    """Each screen's address, and what shows that it is whole."""
    maker: Maker = page.maker
    vegan = maker.change({"what": "brief", "name": "vegan"})
    page.goto(f"{maker.home}{vegan}")
    page.wait_for_selector("article.proposal")
    kept = maker.post(f"{vegan}/save", which="0", revision="1").url.removeprefix(maker.home)
    held = maker.change(*(line(name, share, share) for name, share in HELD.items()))
    butter = maker.change(line("shea-butter", "15"))
    seen = maker.seen("trial/balm-1")
    maker.post("trial/balm-1/record", seen=seen, day="2026-11-05", measure="density", value="0.95")
    file = {"name": "r.csv", "mimeType": "text/csv", "buffer": READINGS}
    preview = maker.post("readings", file=file).url.removeprefix(maker.home)
    return {
        "answer": (vegan, "article.proposal"),
        "impossible": (butter, "ul.cures"),
        "proposal": (kept, "text=Open the sheet"),
        "sheet": (kept.replace("proposal", "sheet"), "td.weigh"),
        "weighing": (f"{kept.replace('proposal', 'sheet')}?batch=40+g&stopped=1", "text=Ask again"),
        "opening": ("formula/sunflower-balm/trial?day=2026-11-26&once=1&stopped=1", "text=Ask again"),
        "refused": (f"{kept.replace('proposal', 'sheet')}?batch=a+jar", "#fault"),
        "adopt": (f"{kept}/adopt?title=Vegan+balm", "pre"),
        "trade": (f"{held}/trade?{PAIR}", ".drawing"),
        "why": (f"{held}/why", "#costs"),
        "compare": (f"compare?first=formula:sunflower-balm&second={kept.replace('/', ':')}", "tr.new"),
        "preview": (preview, ".faults"),
        "learning": ("learning", "#check"),
        "trial": ("trial/balm-1", "#log"),
        "ingredient": ("ingredient/beeswax", "#shelf"),
        "several": ("ingredient/beeswax/flags/several", "#s-1"),
        "row": ("ingredient/beeswax/properties/add?begin=density", "#f-source"),
    }


def faults(page: Any) -> list[tuple[str, str]]:
    from axe_playwright_python.sync_playwright import Axe

    return [(one["id"], one["nodes"][0]["html"]) for one in Axe().run(page).response["violations"]]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    "screen",
    [
        "answer",
        "impossible",
        "proposal",
        "sheet",
        "weighing",
        "opening",
        "refused",
        "adopt",
        "trade",
        "why",
        "compare",
        "preview",
        "learning",
        "trial",
        "ingredient",
        "several",
        "row",
    ],
)
def test_a_screen_stands_in_nobodys_way(
    page: Any, screens: dict[str, tuple[str, str]], screen: str, size: str
) -> None:
    viewport, scheme = SIZES[size]
    page.set_viewport_size(viewport)
    page.emulate_media(color_scheme=scheme)
    path, whole = screens[screen]
    page.goto(f"{page.maker.home}{path}")
    page.wait_for_selector(whole)
    assert faults(page) == []
    assert page.locator("h1").count() == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]


def test_a_shared_page_and_an_empty_folder_stand_in_nobodys_way(chromium: Any, tmp_path: Path) -> None:
    folder, password = tmp_path / "empty", tmp_path / "password"
    folder.mkdir()
    password.write_text(OWN_WORDS, encoding="utf-8")
    with started(folder, "--listen", "127.0.0.1:0", "--password-file", str(password)) as url:
        page = chromium.new_page()
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            page.goto(url)
            assert faults(page) == []
        page.fill("input[type=password]", OWN_WORDS)
        page.keyboard.press("Enter")
        page.wait_for_selector("text=Nothing is here yet")
        page.click("summary")
        for viewport, scheme in SIZES.values():
            page.set_viewport_size(viewport)
            page.emulate_media(color_scheme=scheme)
            assert faults(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
        page.close()
    assert not list(folder.iterdir())
