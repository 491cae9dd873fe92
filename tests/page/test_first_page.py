"""The first page is there before the folder is read; what stands behind it comes by itself."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from optimiser.page import desk
from optimiser.page.first import First
from optimiser.page.glance import MOST_NAMED, glance_at, name_in
from optimiser.page.guard import Guard, Keys
from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import HOST, Visitor, started
from tests.page.test_accessible import SIZES, faults
from tests.unit.loading.folders import MASK, write
from tests.workflows.desk import demo

READING = "Reading the ingredients, the shelf"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    write(tmp_path / "table", {"formulas/mask.yaml": MASK})
    return tmp_path / "table"


@pytest.fixture
def newcomer(place: Path) -> Iterator[Visitor]:
    """The first visitor of a page that only just started."""
    keys = Keys(frozenset({HOST}))
    first = First(place, keys)
    client = TestClient(Guard(first, keys), base_url=f"http://{HOST}")
    client.cookies.set(keys.cookie, keys.key)
    yield Visitor(client, keys)
    first.close()


def test_the_names_are_those_that_reading_finds(tmp_path: Path) -> None:
    start_worktable(tmp_path / "table")
    glance = glance_at(tmp_path / "table")
    table = demo().worktable
    assert dict(glance.formulas) == {one.id: one.name for one in table.formulas.values()}
    assert glance.name == table.settings.name
    assert glance.files == len(table.formulas)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("name: Balm\n", "Balm"),
        ("# first\n\n'name': 'It''s: a balm'\n", "It's: a balm"),
        ("\ufeffname: Balm\n", "Balm"),
        ("product: {name: inside}\nphases: [{name: A}]\nname: Balm\n", "Balm"),
        ("hero: name\nname: Balm\n", "Balm"),
        ("name: Balm\nphases: [\n", "Balm"),
        ("name: [Balm]\n", ""),
        ("name: *never\n", ""),
        ("- name: Balm\n", ""),
        ("name\n", ""),
        ("", ""),
        ("\tname: Balm\n", ""),
        (f"a: {'[' * 500}{']' * 500}\nname: Balm\n", "Balm"),
        ("a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nname: Balm\n", "Balm"),
    ],
)
def test_a_name_is_what_stands_at_the_top(tmp_path: Path, text: str, name: str) -> None:
    (tmp_path / "one.yaml").write_text(text, encoding="utf-8")
    assert name_in(tmp_path / "one.yaml") == name


def test_what_cannot_be_looked_into_has_no_name(place: Path) -> None:
    formulas = place / "formulas"
    (formulas / "bytes.yaml").write_bytes(b"name: \xff\xfe\n")
    (formulas / "large.yaml").write_text("name: large\n" + "# more\n" * 200_000, encoding="utf-8")
    (formulas / "folder.yaml").mkdir()
    (formulas / ".hidden.yaml").write_text("name: hidden\n", encoding="utf-8")
    glance = glance_at(place)
    assert [one for one, _ in glance.formulas] == ["mask"]
    assert glance.files == 3


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_nobody_waits_for_a_pipe(place: Path) -> None:
    for one in (place / "formulas/pipe.yaml", place / "worktable.yaml"):
        one.unlink(missing_ok=True)
        os.mkfifo(one)
    glance = glance_at(place)
    assert glance.name == "table"
    assert [one for one, _ in glance.formulas] == ["mask"]


def test_of_very_many_formulas_only_their_number_is_told(place: Path) -> None:
    for number in range(MOST_NAMED):
        (place / f"formulas/one-{number}.yaml").write_text("name: One\n", encoding="utf-8")
    glance = glance_at(place)
    assert (glance.formulas, glance.files) == ((), MOST_NAMED + 1)


def test_the_first_page_waits_for_nothing(
    newcomer: Visitor, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unread(*_: object) -> None:
        raise AssertionError("the folder was read for it")

    monkeypatch.setattr(First, "read", unread)
    text = newcomer.get("/").text
    assert READING in text
    assert 'href="/formula/mask"' in text
    assert "1 formula " in text
    assert newcomer.get("/static/page.css").status_code == 200


def test_the_whole_page_comes_into_it(newcomer: Visitor) -> None:
    assert READING in newcomer.get("/").text
    whole = newcomer.get("/", **{"hx-request": "true"}).text
    assert READING not in whole
    assert "Limits in force on" in whole
    assert newcomer.get("/").text == whole


def test_without_script_a_press_leads_to_it(newcomer: Visitor) -> None:
    text = newcomer.get("/").text
    assert '<noscript><p><a href="/?whole">Go on</a></p></noscript>' in text
    assert "Limits in force on" in newcomer.get("/?whole").text


def test_a_formula_can_be_opened_before_the_folder_is_read(newcomer: Visitor) -> None:
    newcomer.get("/")
    assert "What must change" in newcomer.get("/formula/mask").text


def test_faults_come_with_the_reading(newcomer: Visitor, place: Path) -> None:
    (place / "worktable.yaml").write_text("currency: euros\n", encoding="utf-8")
    assert READING in newcomer.get("/").text
    assert "in the files" in newcomer.get("/", **{"hx-request": "true"}).text


def test_an_empty_folder_offers_a_start(tmp_path: Path) -> None:
    keys = Keys(frozenset({HOST}))
    first = First(tmp_path, keys)
    client = TestClient(Guard(first, keys), base_url=f"http://{HOST}", cookies={keys.cookie: keys.key})
    assert "Looking into the folder" in client.get("/").text
    assert "Start with the invented workshop" in client.get("/", headers={"hx-request": "true"}).text
    first.close()


def test_names_in_files_are_inert(newcomer: Visitor, place: Path) -> None:
    (place / "formulas/odd.yaml").write_text("name: '<script>alert(1)</script>'\n", encoding="utf-8")
    (place / 'formulas/a"b onclick=c.yaml').write_text("name: odd\n", encoding="utf-8")
    text = newcomer.get("/").text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text
    assert "<script>alert" not in text
    assert '" onclick' not in text
    assert 'a"b' not in text


def test_nobody_without_the_key_sees_a_name(place: Path) -> None:
    keys = Keys(frozenset({HOST}))
    stranger = TestClient(Guard(First(place, keys), keys), base_url=f"http://{HOST}")
    answer = stranger.get("/")
    assert answer.status_code == 403
    assert "mask" not in answer.text


def test_many_at_once_have_it_read_once(newcomer: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    times: list[Any] = []
    reading = desk._read

    def counted(*given: Any) -> Any:
        times.append(given)
        return reading(*given)

    monkeypatch.setattr(desk, "_read", counted)
    with ThreadPoolExecutor(20) as visitors:
        answers = list(visitors.map(lambda _: newcomer.get("/?whole"), range(20)))
    assert {one.status_code for one in answers} == {200}
    assert len(times) == 1


def test_in_a_browser_it_stands_in_nobodys_way_and_the_focus_stays(chromium: Any, tmp_path: Path) -> None:
    start_worktable(tmp_path / "table")
    with started(tmp_path / "table") as url:
        window = chromium.new_context()
        page, held = window.new_page(), []

        def hold(route: Any) -> None:
            if "hx-request" in route.request.headers:
                held.append(route)
            else:
                route.continue_()

        page.route(url.partition("?")[0], hold)
        page.goto(url)
        page.wait_for_selector(f"text={READING}")
        for viewport, scheme in SIZES.values():
            page.set_viewport_size(viewport)
            page.emulate_media(color_scheme=scheme)
            assert faults(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
        page.focus("#to-sunflower-balm")
        (route,) = held
        route.continue_()
        page.wait_for_selector("text=Limits in force on")
        assert page.evaluate("document.activeElement.id") == "to-sunflower-balm"
        assert page.locator("h1").count() == 1
        window.close()
