"""Files that change while a request is open: named, and taken up or left alone by the maker."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from optimiser.page import underneath
from optimiser.page.app import make_app
from optimiser.page.desk import Desk
from optimiser.page.guard import Keys
from optimiser.page.work import Work
from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import HOST, Visitor

FILE = "ingredients.csv"
OLD, NEW = "Carnauba wax,", "Carnauba wax from the fair,"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place: Path = tmp_path_factory.mktemp("underneath") / "table"
    start_worktable(place)
    return place


@pytest.fixture(scope="module")
def served(place: Path) -> Iterator[Visitor]:
    keys, work = Keys(frozenset({HOST})), Work(place)
    with TestClient(make_app(Desk(place), work, keys), base_url=f"http://{HOST}") as client:
        client.cookies.set(keys.cookie, keys.key)
        yield Visitor(client, keys)
    work.close()


@pytest.fixture
def asked(served: Visitor, place: Path) -> Iterator[str]:
    """A request for a balm without beeswax, answered; the folder is as it was before and after."""
    before = {one: ((place / one).read_bytes(), (place / one).stat()) for one in (FILE, "worktable.yaml")}
    at = served.change("sunflower-balm")
    served.post(f"{at}/say", what="brief", name="vegan", revision="0")
    served.answer(at)
    yield at
    for name, (data, about) in before.items():
        (place / name).write_bytes(data)
        os.utime(place / name, ns=(about.st_atime_ns, about.st_mtime_ns))


def change(place: Path, name: str, before: str, after: str) -> None:
    text = (place / name).read_bytes().decode()
    assert before in text
    (place / name).write_bytes(text.replace(before, after).encode())


def choose(served: Visitor, at: str, way: str) -> str:
    now = re.search(r'name="now" value="(\d+)"', served.get(at).text)
    assert now is not None
    return str(served.post(f"{at}/files", way=way, now=now[1]).text)


def made(text: str) -> str:
    """The part of the page that shows the answer."""
    return text.partition('id="make"')[2].partition('id="underneath"')[0]


def told(text: str) -> str:
    """The notice."""
    return text.partition('id="underneath"')[2].partition('id="change"')[0].partition('id="said"')[0]


def changed_in(notice: str) -> str:
    """What it says of the files, not what was chosen of them."""
    return notice.partition("<details>")[2].partition("</details>")[0]


def test_the_file_is_named_and_what_changed_in_it(served: Visitor, place: Path, asked: str) -> None:
    assert "changed underneath" not in served.get(asked).text
    before = made(served.get(asked).text)
    change(place, FILE, OLD, NEW)
    text = served.get(asked).text
    assert "<bdi>ingredients.csv</bdi> changed underneath: 1 row changed." in text
    assert "Carnauba wax from the fair" in told(text)
    assert made(text) == before
    assert "Carnauba wax from the fair" not in made(text)


def test_what_changed_is_taken_up_by_a_press(served: Visitor, place: Path, asked: str) -> None:
    change(place, FILE, OLD, NEW)
    choose(served, asked, "take")
    text = served.answer(asked)
    assert "changed underneath" not in text
    assert "Carnauba wax from the fair" in made(text)


def test_staying_goes_on_with_the_files_as_they_were(served: Visitor, place: Path, asked: str) -> None:
    change(place, FILE, OLD, NEW)
    text = choose(served, asked, "stay")
    assert "You stay with the files as they were." in text
    served.post(f"{asked}/limit", rule="line:carnauba-wax", low="", high="30", revision="1")
    text = served.answer(asked)
    assert "Carnauba wax</bdi>" in made(text)
    assert "Carnauba wax from the fair" not in made(text)
    kept = served.post(f"{asked}/save", which="0", revision="2")
    assert kept.url.path.startswith("/proposal/")
    change(place, FILE, "from the fair", "from the market")
    assert "What you see here is still of the files as they were." in served.get(asked).text


def test_files_with_faults_are_named_and_not_taken_up(served: Visitor, place: Path, asked: str) -> None:
    change(place, "worktable.yaml", "currency: EUR", "currency: euros")
    text = served.get(asked).text
    assert "<bdi>worktable.yaml</bdi> changed underneath: 2 lines changed." in text
    assert re.search(r"\d faults? in the files must be mended before\.", text)
    assert 'value="take"' not in text
    now = re.search(r'name="now" value="(\d+)"', text)
    assert now is not None
    assert served.post(f"{asked}/files", way="take", now=now[1]).status_code == 409
    assert "Carnauba wax" in made(served.get(asked).text)


def test_a_file_only_touched_is_no_news(served: Visitor, place: Path, asked: str) -> None:
    (place / FILE).touch()
    assert "changed underneath" not in served.get(asked).text


def test_the_notice_comes_by_itself_and_once(
    served: Visitor, place: Path, asked: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Asked again and again, nothing is compared that was told already."""
    part = {"hx-request": "true"}
    assert served.get(f"{asked}/underneath?told=", **part).status_code == 204
    change(place, FILE, OLD, NEW)
    answer = served.get(f"{asked}/underneath?told=", **part)
    assert "<bdi>ingredients.csv</bdi> changed underneath" in answer.text
    stamp = re.search(r"underneath\?told=(\d+)", answer.text)
    assert stamp is not None
    compared: list[object] = []

    def noted(*files: object) -> tuple[()]:
        compared.append(files)
        return ()

    monkeypatch.setattr(underneath, "differences", noted)
    assert served.get(f"{asked}/underneath?told={stamp[1]}", **part).status_code == 204
    assert not compared
    served.get(f"{asked}/underneath?told=", **part)
    assert len(compared) == 1


def test_two_states_are_compared_once_however_often_they_are_shown(
    served: Visitor, place: Path, asked: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    change(place, FILE, OLD, NEW)
    first = told(served.get(asked).text)
    choose(served, asked, "stay")
    monkeypatch.setattr(underneath, "differences", None)
    again = served.get(asked).text
    assert "You stay with the files as they were." in again
    assert changed_in(told(again)) == changed_in(first)


def test_a_press_on_an_older_notice_shows_the_newer_first(served: Visitor, place: Path, asked: str) -> None:
    change(place, FILE, OLD, NEW)
    now = re.search(r'name="now" value="(\d+)"', served.get(asked).text)
    assert now is not None
    change(place, FILE, "from the fair", "from the market")
    text = served.post(f"{asked}/files", way="take", now=now[1]).text
    assert "from the market" in told(text)
    assert "What you see here is still of the files as they were." in text


SCREENS = ("why", "why/another?without=shea-butter&use=cocoa-butter", "trade?between=cost&against=departure")


@pytest.mark.parametrize("screen", [*SCREENS, "trade"])
def test_every_screen_of_the_request_has_the_notice(
    served: Visitor, place: Path, asked: str, screen: str
) -> None:
    """Its press asks for the same anew, of the files as they are, on the same screen."""
    at, _, query = f"{asked}/{screen}".partition("?")
    assert "changed underneath" not in served.get(f"{asked}/{screen}").text
    poll = f"{at}/underneath?told=&{query}"
    part = {"hx-request": "true"}
    assert served.get(poll, **part).status_code == 204
    change(place, FILE, OLD, NEW)
    notice = served.get(poll, **part).text
    assert "<bdi>ingredients.csv</bdi> changed underneath: 1 row changed." in notice
    assert f'action="{at}/files"' in notice
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', notice))
    del fields["token"]
    stays = served.post(f"{at}/files", way="stay", **fields)
    assert "You stay with the files as they were." in stays.text
    taken = served.post(f"{at}/files", way="take", **fields)
    assert str(taken.url).endswith(f"{asked}/{screen}")
    assert "changed underneath" not in taken.text
    assert "changed underneath" not in served.get(asked).text


def test_a_trial_tells_of_files_changed_since_it_was_opened(served: Visitor, place: Path, asked: str) -> None:
    at = served.open_trial("/formula/sunflower-balm", day="2026-11-20").url.path
    poll = re.search(r'hx-get="([^"]+/underneath[^"]+)"', served.get(at).text)
    assert poll is not None
    address = poll[1].replace("&amp;", "&")
    part = {"hx-request": "true"}
    assert served.get(address, **part).status_code == 204
    (place / FILE).touch()
    assert served.get(address, **part).status_code == 204
    change(place, FILE, OLD, NEW)
    text = served.get(address, **part).text
    assert "<bdi>ingredients.csv</bdi> changed underneath: 1 row changed." in text
    assert f'<a href="{at}">Look again</a>' in text
    again = re.search(r'hx-get="([^"]+)"', text)
    assert again is not None
    assert served.get(again[1].replace("&amp;", "&"), **part).status_code == 204
    change(place, FILE, NEW, OLD)
    gone = served.get(again[1].replace("&amp;", "&"), **part)
    assert gone.status_code == 200, "the notice goes once the files are again as they were"
    assert "changed underneath" not in gone.text
    assert f'hx-get="{poll[1]}"' in gone.text
    assert served.get(address, **part).status_code == 204
    lost = served.get(f"{at}/underneath?of=1&told=", **part).text
    assert "Files of the folder changed underneath." in lost
