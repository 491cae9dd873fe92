"""A formula, a kept proposal and what trials teach say that files changed since they were opened."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.page.conftest import Visitor, visiting
from tests.trials_of_a_balm import balm_with_trials

FILE = "ingredients.csv"
OLD, NEW = b"Carnauba wax,", b"Carnauba wax from the fair,"
PART = {"hx-request": "true"}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return balm_with_trials(tmp_path_factory.mktemp("elsewhere") / "table", 1)


@pytest.fixture(scope="module")
def maker(place: Path) -> Iterator[Visitor]:
    with visiting(place) as found:
        yield found


@pytest.fixture(scope="module")
def screens(maker: Visitor) -> dict[str, str]:
    path = maker.change("sunflower-balm")
    maker.post(f"{path}/limit", rule="line:", name="beeswax", low="6.8", high="6.8", revision="0")
    maker.answer(path)
    kept = maker.post(f"{path}/save", which="0", revision="1").url.path
    return {"formula": "/formula/sunflower-balm", "proposal": str(kept), "learning": "/learning"}


def poll_of(text: str) -> str:
    found = re.search(r'hx-get="([^"]+/underneath[^"]+)"', text)
    assert found is not None
    return found[1].replace("&amp;", "&")


def look(maker: Visitor, poll: str) -> Any:
    return maker.get(poll, **PART)


@pytest.mark.parametrize("screen", ["formula", "proposal", "learning"])
def test_a_changed_table_is_told_until_it_is_as_it_was(
    maker: Visitor, place: Path, screens: dict[str, str], screen: str
) -> None:
    at = screens[screen]
    poll = poll_of(maker.get(at).text)
    assert look(maker, poll).status_code == 204
    was = (place / FILE).read_bytes()
    assert OLD in was
    (place / FILE).write_bytes(was.replace(OLD, NEW))
    text = look(maker, poll).text
    assert "<bdi>ingredients.csv</bdi> changed underneath: 1 row changed." in text
    assert f'<a href="{at}">Look again</a>' in text
    assert look(maker, poll_of(text)).status_code == 204
    (place / FILE).write_bytes(was)
    gone = look(maker, poll_of(text))
    assert gone.status_code == 200
    assert "changed underneath" not in gone.text
    assert poll_of(gone.text) == poll


@pytest.mark.parametrize(
    ("screen", "files", "words"),
    [
        ("proposal", "proposals/*.yaml", "The file of this proposal changed."),
        ("learning", "trials/*.yaml", "Trials were written down meanwhile."),
    ],
)
def test_what_stands_beside_the_table_is_told_as_well(
    maker: Visitor, place: Path, screens: dict[str, str], screen: str, files: str, words: str
) -> None:
    poll = poll_of(maker.get(screens[screen]).text)
    (file, *_) = sorted(place.glob(files))
    file.write_bytes(file.read_bytes() + b"# seen\n")
    text = look(maker, poll).text
    assert words in text
    assert "changed underneath" not in text
    assert look(maker, poll_of(text)).status_code == 204


def test_a_folder_that_cannot_be_read_is_told_in_the_notice(
    maker: Visitor, place: Path, screens: dict[str, str]
) -> None:
    poll = poll_of(maker.get(screens["formula"]).text)
    was = (place / FILE).read_bytes()
    (place / FILE).write_bytes(was + b"one cell alone\n")
    answer = look(maker, poll)
    (place / FILE).write_bytes(was)
    assert answer.status_code == 200
    assert "changed underneath" in answer.text


def test_a_formula_that_was_taken_away_is_told_to_who_still_reads_it(maker: Visitor, place: Path) -> None:
    file = place / "formulas" / "aloe-gel-mask.yaml"
    poll = poll_of(maker.get("/formula/aloe-gel-mask").text)
    was = file.read_bytes()
    file.unlink()
    answer = look(maker, poll)
    never = look(maker, poll.replace("aloe-gel-mask", "no-such-mask"))
    file.write_bytes(was)
    assert answer.status_code == 200
    assert "aloe-gel-mask.yaml" in answer.text
    assert never.status_code == 404


@pytest.mark.parametrize(("screen", "words"), [("proposal", "of this proposal"), ("trial", "of this trial")])
def test_what_was_taken_away_is_told_to_who_still_reads_it(
    maker: Visitor, place: Path, screens: dict[str, str], screen: str, words: str
) -> None:
    at = screens.get(screen, "/trial/balm-1")
    poll = poll_of(maker.get(at).text)
    (file,) = (place / f"{screen}s").glob(f"{at.rpartition('/')[2]}.yaml")
    was = file.read_bytes()
    file.unlink()
    answer = look(maker, poll)
    file.write_bytes(was)
    assert f"The file {words} was taken away." in answer.text
    assert '<a href="/">See what is there</a>' in answer.text
    assert look(maker, re.sub(r"of=[^&]+", "of=", poll).replace(at, f"{at}-never")).status_code == 404
