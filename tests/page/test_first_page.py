"""The first page is there before the folder is read; what stands behind it comes by itself."""

from __future__ import annotations

import os
import re
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from starlette.testclient import TestClient

from optimiser.loading.glance import HEAD, MOST_READ, glance_at, name_in
from optimiser.page import desk
from optimiser.page.faults import UNFORESEEN
from optimiser.page.first import First
from optimiser.page.guard import CSP, Guard, Keys
from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import HOST, Visitor
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
    (formulas / "late.yaml").write_text("# more\n" * HEAD + "name: late\n", encoding="utf-8")
    (formulas / "No id.yaml").write_text("name: odd\n", encoding="utf-8")
    (formulas / "folder.yaml").mkdir()
    (formulas / ".hidden.yaml").write_text("name: hidden\n", encoding="utf-8")
    glance = glance_at(place)
    assert [one for one, _ in glance.formulas] == ["mask"]
    assert glance.files == 4


def test_a_name_is_found_in_a_head_that_ends_within_a_letter(tmp_path: Path) -> None:
    (tmp_path / "one.yaml").write_bytes(b"name: Balm\n#" + "ä".encode() * HEAD)
    assert name_in(tmp_path / "one.yaml") == "Balm"
    (tmp_path / "one.yaml").write_text(f"name: {'long ' * 100}\n", encoding="utf-8")
    assert len(name_in(tmp_path / "one.yaml")) < 100


def test_formulas_that_are_tables_are_counted(place: Path) -> None:
    (place / "formulas/wash.csv").write_text("x\n", encoding="utf-8")
    (place / "formulas/mask.yml").write_text("name: Mask again\n", encoding="utf-8")
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


def test_of_very_much_only_some_is_looked_into(place: Path) -> None:
    for number in range(MOST_READ // HEAD + 5):
        (place / f"formulas/a-{number}.yaml").write_text("# more\n" * HEAD, encoding="utf-8")
    glance = glance_at(place)
    assert (glance.formulas, glance.files) == ((), MOST_READ // HEAD + 6)


def test_the_first_page_waits_for_nothing(
    newcomer: Visitor, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unread(*_: object) -> None:
        raise AssertionError("the folder was read for it")

    monkeypatch.setattr(First, "_ready", unread)
    text = newcomer.get("/").text
    assert READING in text
    assert 'href="/formula/mask"' in text
    assert "1 formula " in text
    assert newcomer.client.head("/").status_code == 200
    assert newcomer.get("/static/page.css").status_code == 200
    for other in ("/static/app.py", "/static/", "/static/a/../page.css/x"):
        refused = newcomer.get(other)
        assert refused.status_code == 404
        assert refused.headers["content-security-policy"] == CSP


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


def test_a_reading_that_breaks_off_is_told_in_place_of_the_glance(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("a fault of the program")

    keys = Keys(frozenset({HOST}))
    first = First(place, keys)
    client = TestClient(Guard(first, keys), base_url=f"http://{HOST}", raise_server_exceptions=False)
    client.cookies.set(keys.cookie, keys.key)
    monkeypatch.setattr(desk, "_read", broken)
    assert READING in client.get("/").text
    told = client.get("/", headers={"hx-request": "true", "hx-target": "main"})
    assert told.status_code == 500
    assert told.headers["content-security-policy"] == CSP
    assert "<main id=" in told.text
    assert UNFORESEEN.what in told.text
    first.read()
    assert client.get("/").status_code == 500
    monkeypatch.undo()
    assert "Limits in force on" in client.get("/").text
    first.close()


def test_a_folder_that_went_is_told_in_place_of_the_glance(newcomer: Visitor, place: Path) -> None:
    assert READING in newcomer.get("/").text
    place.rename(place.with_name("elsewhere"))
    told = newcomer.client.get("/", headers={"hx-request": "true", "hx-target": "main"})
    assert "<main id=" in told.text
    assert READING not in told.text


def test_nobody_who_ends_it_waits_for_the_reading(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    reading, go_on = threading.Event(), threading.Event()

    def slow(*_: object) -> None:
        reading.set()
        assert go_on.wait(20)
        raise RuntimeError

    monkeypatch.setattr(desk, "_read", slow)
    first = First(place, Keys(frozenset({HOST})))
    behind = threading.Thread(target=first.read)
    behind.start()
    assert reading.wait(20)
    first.close()
    assert behind.is_alive()
    go_on.set()
    behind.join(20)


def test_before_the_password_nothing_of_the_folder_is_told(place: Path) -> None:
    start = place / "worktable.yaml"
    text = start.read_text(encoding="utf-8")
    start.write_text(re.sub("^name: .*$", "name: Quiet House", text, flags=re.MULTILINE), encoding="utf-8")
    keys = Keys(frozenset({HOST}), "a long line of its own")
    client = TestClient(Guard(First(place, keys), keys), base_url=f"http://{HOST}")
    for path in ("/", "/enter", "/enterX", "/enter/x", "/static/x", "/formula/mask", "/?whole"):
        assert "Quiet House" not in client.get(path).text
    for fields in ({}, {"token": "x"}, {"token": keys.form, "password": "wrong"}):
        assert "Quiet House" not in client.post("/enter", data=fields).text
    client.post("/enter", data={"token": keys.form, "password": keys.password})
    assert "Quiet House" in client.get("/").text


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


def test_in_a_browser_it_stands_in_nobodys_way_and_the_focus_stays(
    chromium: Any, newcomer: Visitor, place: Path
) -> None:
    """The page is asked in this process, so that nothing is read before it is asked for. What may be pressed
    stays where it is, below another formula.
    """
    (place / "formulas/before.yaml").write_text(MASK, encoding="utf-8")
    window = chromium.new_context()
    page = window.new_page()
    held: list[Any] = []

    def answer(route: Any) -> None:
        part = "hx-request" in route.request.headers
        if part and not held:
            held.append(route)
            return
        asked = {"hx-request": "true"} if part else {}
        found = newcomer.get(urlsplit(route.request.url).path, **asked)
        route.fulfill(status=found.status_code, headers=dict(found.headers), body=found.content)

    page.route("**/*", answer)
    page.goto(f"http://{HOST}/")
    page.wait_for_selector(f"text={READING}")
    for viewport, scheme in SIZES.values():
        page.set_viewport_size(viewport)
        page.emulate_media(color_scheme=scheme)
        assert faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
    page.focus("#to-mask")
    where = page.locator("#to-mask").bounding_box()
    (route,) = held
    answer(route)
    page.wait_for_selector("text=Limits in force on")
    assert page.evaluate("document.activeElement.id") == "to-mask"
    assert page.locator("#to-mask").bounding_box() == where
    assert page.locator("h1").count() == 1
    window.close()


def test_in_a_browser_nobody_waits_for_a_program_that_has_ended(chromium: Any, newcomer: Visitor) -> None:
    page = chromium.new_page()

    def answer(route: Any) -> None:
        if "hx-request" in route.request.headers:
            route.abort()
            return
        found = newcomer.get(urlsplit(route.request.url).path)
        route.fulfill(status=found.status_code, headers=dict(found.headers), body=found.content)

    page.route("**/*", answer)
    page.goto(f"http://{HOST}/")
    page.wait_for_selector("text=The page does not answer.")
    assert page.locator(".wait a").get_attribute("href") == f"http://{HOST}/"
    page.close()
