"""The page as a maker waits for it: the first page after the start, and a moved limit in Chromium.

`python -m tests.benchmarks --browser 9` presses an arrow key in a limit of the demo mask so many times and
takes the time until the new answer stands on the page; after each press the same question is put to `propose`
in this process, so that both have the same machine. The page is started from an installation of its own, such
as a maker has: one that can be edited reads more at each start.
"""

from __future__ import annotations

import os
import re
import resource
import statistics
import subprocess
import tempfile
import time
import urllib.request
import venv
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any

from optimiser.domain.moved import Moved
from optimiser.page.drafts import Asking
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose
from optimiser.workflows.worktable import open_worktable, start_worktable
from tests.page.conftest import CHROMIUM, FLAGS

ROOT = Path(__file__).resolve().parents[2]
FORMULA, LIMIT = "oat-rose-mask", "Share of clay"
MOST_PRESSES = 9
"""On one page: a few more and the limit of at most meets that of at least."""
WAITED = """(revision) => { window.moved = new Promise((done) => {
  let began = 0;
  document.addEventListener("keydown", () => { began = performance.now(); }, {once: true, capture: true});
  const there = () => {
    const now = document.querySelector("#make");
    if (now && now.dataset.revision !== revision && !now.querySelector(".wait")) {
      watch.disconnect(); requestAnimationFrame(() => done(performance.now() - began));
    }
  };
  const watch = new MutationObserver(there);
  watch.observe(document.body, {subtree: true, childList: true, attributes: true});
}); }"""

SOLVING = """() => performance.getEntriesByType("resource").flatMap((one) => [...one.serverTiming])
  .filter((one) => one.name === "solve").at(-1).duration"""


def measured(times: int) -> dict[str, Any]:
    """Seconds of the first page, and of a moved limit: beside the same question put here, by median and by
    pair, and beside what the process that solves worked on it by its own clock.
    """
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "table"
        start_worktable(folder)
        python = _installed(Path(place) / "installed")
        firsts = [_first_page(python, folder) for _ in range(times)]
        rounds = [min(MOST_PRESSES, times - done) for done in range(0, times, MOST_PRESSES)]
        moved = [one for presses in rounds for one in _moved(python, folder, presses)]
    return {
        "first": statistics.median(first for first, _, _ in firsts),
        "first_least": min(first for first, _, _ in firsts),
        "whole": statistics.median(whole for _, whole, _ in firsts),
        "first_processor": min(spent for _, _, spent in firsts),
        "seen": statistics.median(seen for seen, _, _ in moved),
        "own": statistics.median(own for _, own, _ in moved),
        "ratio": statistics.median(seen / own for seen, own, _ in moved),
        "apart_ms": statistics.median((seen - own) * 1000 for seen, own, _ in moved),
        "beyond_ms": statistics.median((seen - solving) * 1000 for seen, _, solving in moved),
        "moved": len(moved),
    }


def _installed(place: Path) -> Path:
    """The interpreter of a new environment that has the program and nothing of the developers'."""
    venv.create(place, with_pip=True)
    python = place / ("Scripts" if os.name == "nt" else "bin") / "python"
    subprocess.run([python, "-m", "pip", "install", "--quiet", str(ROOT)], check=True)
    return python


@contextmanager
def _page(python: Path, folder: Path) -> Iterator[tuple[str, float]]:
    """A page that runs; its address, and when it was started."""
    began = time.perf_counter()
    command = [str(python), "-u", "-m", "optimiser", "page", str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=folder) as process:
        assert process.stdout is not None
        try:
            yield process.stdout.readline().strip(), began
        finally:
            process.terminate()
            process.wait(20)


def _first_page(python: Path, folder: Path) -> tuple[float, float, float]:
    """Seconds from the start to the first page and to what comes into it; the processor's for both."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with _page(python, folder) as (address, began):
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        assert f"/formula/{FORMULA}".encode() in opener.open(address).read()
        first = time.perf_counter() - began
        opener.addheaders.append(("HX-Request", "true"))
        assert b"Limits in force" in opener.open(address).read()
        whole = time.perf_counter() - began
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return first, whole, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _moved(python: Path, folder: Path, times: int) -> Iterator[tuple[float, float, float]]:
    """Seconds on the page, of `propose` here, and of the process that solves, of each press."""
    from playwright.sync_api import sync_playwright

    root = hasattr(os, "geteuid") and os.geteuid() == 0
    flags = [*FLAGS, *(["--no-sandbox"] if root else [])]
    sources = open_worktable(folder)
    with _page(python, folder) as (address, _), sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=flags)
        tab = browser.new_page()
        tab.goto(address)
        tab.goto(re.sub(r"\?.*", f"formula/{FORMULA}", address))
        tab.click("text=Say what must change")
        form = tab.locator("form.limit", has_text=LIMIT).first
        field, rule = form.locator("input[name=high]"), form.locator("input[name=rule]").input_value()
        low = form.locator("input[name=low]").input_value()
        for press in range(times + 1):
            seen, solving = _pressed(tab, field)
            moved = Moved(rule, Fraction(low) if low else None, Fraction(field.input_value()))
            asked = ask(sources, FORMULA, Asking().with_limit(moved).said)
            began = time.perf_counter()
            propose(sources, asked)
            if press:  # the first of both reads what later ones have at hand
                yield seen, time.perf_counter() - began, solving
        browser.close()


def _pressed(tab: Any, field: Any) -> tuple[float, float]:
    """Seconds from the key to the answer on the page, and those of the process that solves among them."""
    field.focus()
    tab.evaluate("() => performance.clearResourceTimings()")
    tab.evaluate(WAITED, tab.locator("#make").get_attribute("data-revision"))
    tab.keyboard.press("ArrowDown")
    seen = tab.evaluate("() => window.moved")
    solving = tab.evaluate(SOLVING)
    return float(seen) / 1000, float(solving) / 1000
