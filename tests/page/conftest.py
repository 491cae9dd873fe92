"""One folder, one page without a browser and one with, for all tests here."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from optimiser.page.app import make_app
from optimiser.page.desk import Desk
from optimiser.page.guard import Keys
from optimiser.page.hands import Hand
from optimiser.page.work import Work
from optimiser.workflows.worktable import start_worktable
from tests.unit.loading.folders import MASK, write

HOST = "127.0.0.1:4321"
ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


class Visitor:
    """A browser without script: it posts forms with the token and follows where it is sent."""

    def __init__(self, client: TestClient, keys: Keys) -> None:
        self.client, self.keys = client, keys

    def get(self, path: str, **headers: str) -> Any:
        return self.client.get(path, headers=headers)

    def post(self, path: str, headers: dict[str, str] | None = None, /, **fields: str) -> Any:
        return self.client.post(path, data={"token": self.keys.form, **fields}, headers=headers or {})

    def change(self, formula: str) -> str:
        """A new request on the formula; its address."""
        return str(self.post(f"/formula/{formula}/change").url.path)

    def answer(self, path: str) -> str:
        """What is shown once the answer is there; waits as the page itself does."""
        text = str(self.get(path).text)
        for _ in range(200):
            waiting = re.search(r"/answer\?seen=\d+", text)
            if waiting is None:
                return text
            text = str(self.get(f"{path}{waiting[0]}", **{"hx-request": "true"}).text)
        raise AssertionError("no answer came")

    def weighed(self, path: str) -> Any:
        """What stands at the address once it is weighed out."""
        for _ in range(200):
            answer = self.get(path)
            if 'class="wait"' not in answer.text:
                return answer
            time.sleep(0.1)
        raise AssertionError("it was never weighed out")

    def open_trial(self, of: str, **fields: str) -> Any:
        """The answer to a trial opened of `formula/...` or `proposal/...`, once it is weighed out."""
        answer = self.post(f"{of}/trial", **fields)
        if 'class="wait"' in answer.text:
            answer = self.weighed(str(answer.url))
        if "data-go" in answer.text:
            again = dict(re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', answer.text))
            answer = self.post(f"{of}/trial", **{name: unescape(value) for name, value in again.items()})
        return answer


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place: Path = tmp_path_factory.mktemp("page") / "table"
    start_worktable(place)
    return place


@contextmanager
def visiting(place: Path, *, warm: bool = False, work: Work | None = None) -> Iterator[Visitor]:
    """A visitor of the folder, let in, with a page and a solving process of its own."""
    keys, work = Keys(frozenset({HOST})), work or Work(place)
    if warm:
        work.warm()
    with TestClient(make_app(Desk(place), work, keys), base_url=f"http://{HOST}") as client:
        client.cookies.set(keys.cookie, keys.key)
        yield Visitor(client, keys)
    work.close()


@pytest.fixture(scope="session")
def visitor(folder: Path) -> Iterator[Visitor]:
    with visiting(folder, warm=True) as found:
        yield found


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where a small sound folder is written anew for each test of the table."""
    return tmp_path_factory.mktemp("table") / "bench"


@pytest.fixture(scope="module")
def served(place: Path) -> Iterator[Visitor]:
    write(place, {"formulas/mask.yaml": MASK})
    with visiting(place) as found:
        yield found


@pytest.fixture
def maker(served: Visitor, place: Path) -> Visitor:
    """A visitor of the sound folder."""
    write(place, {"formulas/mask.yaml": MASK})
    return served


@pytest.fixture
def dying(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """Every process dies as it is asked, until this is undone."""

    def killed(self: Hand, *_asked: object) -> None:
        self.process.kill()
        raise BrokenPipeError

    with monkeypatch.context() as patch:
        patch.setattr(Hand, "send", killed)
        yield patch


@contextmanager
def started(place: Path, *options: str) -> Iterator[str]:
    """A page of its own, as the command starts it; its address with the key.

    A page that ended by itself is told with its last words.
    """
    command = [sys.executable, "-u", "-X", "faulthandler", "-m", "optimiser", "page", str(place), *options]
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as words,
        subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=words, text=True) as process,
    ):
        assert process.stdout is not None
        try:
            yield process.stdout.readline().strip()
        finally:
            ended = process.poll()
            process.terminate()
            process.wait(20)
            words.seek(0)
            last = words.read()[-4000:]
        assert ended is None, f"the page ended by itself with {ended}: {last}"


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    place = tmp_path_factory.mktemp("seen") / "table"
    start_worktable(place)
    with started(place) as url:
        yield url


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    if CHROMIUM is None:
        pytest.skip("no Chromium is installed")
    from playwright.sync_api import sync_playwright

    flags = [*FLAGS, *(["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else [])]
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=flags)
        yield browser
        browser.close()


@pytest.fixture
def tab(chromium: Any, address: str) -> Iterator[Any]:
    """A fresh visit with the key; nothing may be asked of any other host."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    page = context.new_page()
    page.goto(address)
    yield page
    context.close()
    home = address.partition("?")[0]
    assert not [url for url in asked if not url.startswith((home, "data:"))]
