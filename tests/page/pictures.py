"""The pictures of the page that the docs show, taken anew: `python -m tests.page.pictures [FOLDER]`.

They go into docs/pictures unless another folder is named. Each is the demo worktable in a fresh folder,
light, dark or 360 pixels wide, with colours cut to a palette, so that a picture is small.
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.page.conftest import CHROMIUM, FLAGS, ROOT, started

HERE = ROOT / "docs" / "pictures"
WIDE: Any = {"width": 1200, "height": 860}
NARROW: Any = {"width": 360, "height": 780}
COLOURS = 48
SLOW = 120_000
PLACE = "workshop"


class Camera:
    """Takes pictures of one tab into a folder."""

    def __init__(self, tab: Any, folder: Path) -> None:
        self.tab, self.folder = tab, folder

    def take(self, name: str, *, scheme: str = "light", whole: bool = False, top: str = "") -> None:
        """What is in sight, or the whole page; `top` is put at the upper edge first."""
        self.tab.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        self.tab.evaluate("document.activeElement && document.activeElement.blur()")
        if top:
            self.tab.evaluate("css => document.querySelector(css).scrollIntoView()", top)
        else:
            self.tab.evaluate("scrollTo(0, 0)")
        write(self.folder / f"{name}.png", self.tab.screenshot(full_page=whole))


def write(path: Path, picture: bytes) -> None:
    """With fewer colours; the same picture gives the same bytes."""
    from PIL import Image

    image = Image.open(io.BytesIO(picture)).convert("RGB")
    image.quantize(COLOURS, dither=Image.Dither.NONE).save(path, optimize=True)


def begin(camera: Camera) -> None:
    tab = camera.tab
    tab.wait_for_selector("text=Start with the invented workshop")
    camera.take("page-empty-folder")
    tab.click("text=Start with the invented workshop")
    tab.wait_for_selector("text=Sunflower cleansing balm")
    camera.take("page-what-i-have")


def change(camera: Camera) -> None:
    tab = camera.tab
    tab.click("text=Sunflower cleansing balm")
    camera.take("page-formula")
    tab.click("text=Say what must change")
    tab.click("summary:has-text('Ready briefs')")
    tab.check("input[value=vegan]")
    tab.click("text=Take these briefs")
    tab.wait_for_selector("article.proposal")
    camera.take("page-proposal")
    camera.take("page-proposal-dark", scheme="dark")
    tab.set_viewport_size(NARROW)
    camera.take("page-proposal-narrow", top="#make")
    tab.set_viewport_size(WIDE)


def curve(camera: Camera) -> None:
    tab = camera.tab
    request = tab.url
    tab.click("text=Trade one wish for another")
    tab.click("text=Show the curve")
    tab.wait_for_selector("svg.curve a")
    tab.locator("svg.curve a").nth(1).press("Enter")
    tab.wait_for_selector("#formula")
    camera.take("page-curve")
    tab.goto(request)


def keep(camera: Camera) -> None:
    tab = camera.tab
    tab.click("text=Keep this proposal")
    tab.wait_for_selector("text=Open the sheet")
    tab.fill("input[name=batch]", "100 g")
    tab.click("text=Open the sheet")
    tab.wait_for_selector("td.weigh")
    camera.take("page-sheet")


def impossible(camera: Camera) -> None:
    tab = camera.tab
    tab.click("text=Sunflower cleansing balm")
    tab.click("text=Say what must change")
    tab.select_option("#hold", "shea-butter")
    tab.fill("form:has(#hold) input[name=low]", "15")
    tab.click("button:text-is('Hold')")
    tab.wait_for_selector("ul.cures")
    camera.take("page-impossible")


STEPS: tuple[Callable[[Camera], None], ...] = (begin, change, curve, keep)


def main(folder: Path) -> None:
    from playwright.sync_api import sync_playwright

    if CHROMIUM is None:
        raise SystemExit("no Chromium is installed")
    folder.mkdir(parents=True, exist_ok=True)
    flags = [*FLAGS, *(["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else [])]
    with tempfile.TemporaryDirectory() as place, sync_playwright() as play:
        table = Path(place) / PLACE
        table.mkdir()
        with started(table) as url:
            browser = play.chromium.launch(executable_path=CHROMIUM, args=flags)
            tab = browser.new_page(viewport=WIDE)
            tab.set_default_timeout(SLOW)
            tab.goto(url)
            camera = Camera(tab, folder)
            for step in STEPS:
                step(camera)
            tab.goto(url)
            impossible(camera)
            browser.close()
    for path in sorted(folder.glob("page-*.png")):
        print(f"{path.name}: {path.stat().st_size // 1000} kB")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
