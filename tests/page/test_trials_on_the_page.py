"""Trials on the page: opened, written down, corrected, taken from a table, and what they teach."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from optimiser.page.app import make_app
from optimiser.page.desk import Desk
from optimiser.page.guard import Keys
from optimiser.page.work import Work
from tests.page.conftest import HOST, Visitor
from tests.trials_of_a_balm import balm_with_trials

DAY = "2026-11-25"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return balm_with_trials(tmp_path_factory.mktemp("tried") / "table", 3)


@pytest.fixture(scope="module")
def maker(place: Path) -> Iterator[Visitor]:
    keys = Keys(frozenset({HOST}))
    work = Work(place)
    with TestClient(make_app(Desk(place), work, keys), base_url=f"http://{HOST}") as client:
        client.cookies.set(keys.cookie, keys.key)
        yield Visitor(client, keys)
    work.close()


@pytest.fixture(scope="module")
def opened(maker: Visitor) -> str:
    """A trial of the balm, by name."""
    answer = maker.open_trial("/formula/sunflower-balm", day=DAY, size="100 g", called="one")
    return str(answer.url.path).removeprefix("/trial/")


def write(maker: Visitor, trial: str, **fields: str) -> Any:
    seen = re.search(r'name="seen" value="(\d+)"', maker.get(f"/trial/{trial}").text)
    assert seen is not None
    return maker.post(f"/trial/{trial}/record", **{"seen": seen[1], "day": DAY, **fields})


def test_a_trial_is_opened_from_a_formula_and_stands_in_the_folder(maker: Visitor, opened: str) -> None:
    assert opened == "one"
    text = maker.get("/trial/one").text
    assert "opened 2026-11-25 · 100 g · open" in text
    assert "49.2" in text
    assert 'aria-current="step"' not in text
    assert '<a href="/trial/one">' in maker.get("/").text


def test_what_was_weighed_stands_beside_the_plan(maker: Visitor, opened: str) -> None:
    answer = write(maker, opened, **{"weighed-beeswax": "7.2", "lot-beeswax": "W9", "who": "Ilse"})
    assert "1 entry written down." in answer.text
    row = re.search(r'<tr><th scope="row"><bdi>Beeswax</bdi>.*?</tr>', answer.text, re.DOTALL)
    assert row is not None
    assert ">+0.2" in row[0]
    assert "<bdi>W9</bdi>" in row[0]


def test_a_reading_is_told_beside_what_was_foretold(maker: Visitor, opened: str) -> None:
    text = write(maker, opened, measure="density", value="0.95", felt="softness", score="7").text
    assert "2 entries written down." in text
    assert re.search(r"<bdi>density</bdi>.*?0\.95.*?g/ml", text, re.DOTALL)
    assert re.search(r"<bdi>softness</bdi>.*?>7<.*?nothing was foretold", text, re.DOTALL)


def test_a_thickness_without_its_shear_is_said_at_once_to_teach_nothing(maker: Visitor, opened: str) -> None:
    text = write(maker, opened, measure="thickness", value="4").text
    assert "1 entry written down." in text
    assert "without its shear (1/s), and nothing is learned from a thickness without it" in text
    assert re.search(r"under “More about this reading”, and take entry \d+ back", text)
    assert "--rate" not in text
    assert "without its shear" not in write(maker, opened, measure="thickness", value="4", rate="10").text


def test_the_temperature_belongs_to_what_was_read_at_it(maker: Visitor, opened: str) -> None:
    said = {"measure": "ph", "value": "5.1", "at_c": "22", "instrument": "meter 2", "felt": "softness"}
    text = write(maker, opened, **said, score="6.5").text
    assert "2 entries written down." in text
    assert "<bdi>pH of the finished batch 5.1 at 22 °C; with meter 2</bdi>" in text
    assert "<bdi>softness 6.5</bdi>" in text


def test_no_number_of_a_trial_is_left_out_on_a_narrow_screen(maker: Visitor, opened: str) -> None:
    """Each has its label with it, for where the heads of the columns are not shown."""
    text = maker.get(f"/trial/{opened}").text
    for label in ("To weigh, g", "Weighed, g", "Apart, g", "Expected", "Between", "Read", "State"):
        assert re.search(rf'<td[^>]* data-label="{label}"', text), label
    weighing = text.partition('id="weighed"')[2].partition('id="write"')[0]
    assert not re.search(r'class="[^"]*\bwide\b', weighing)


def test_degrees_are_written_one_way(maker: Visitor) -> None:
    maker.open_trial("/formula/sunflower-balm", day=DAY, size="100 g", called="warm")
    said = {"measure": "melt", "value": "41", "stored": "40", "felt": "softness", "score": "6"}
    text = write(maker, "warm", **said).text
    assert "stood at 40 °C" in text
    assert " 41 °C" in text
    words = re.sub(r'name="token" value="[^"]+"', "", text.partition("<main")[2])
    assert not re.search(r"[0-9,>] ?C\b", words)
    made = write(maker, "warm", setting="heated-to", set_to="75 C").text
    assert " 75 °C" in made


def test_how_it_was_made_is_kept_with_its_unit(maker: Visitor, opened: str) -> None:
    text = write(maker, opened, setting="stirring", set_to="800").text
    assert "1 entry written down." in text
    assert "speed of stirring 800 rpm" in text
    wrong = write(maker, opened, setting="stiring", set_to="800 rpm")
    assert wrong.status_code == 409
    assert "did you mean" in wrong.text
    assert 'value="stiring"' in wrong.text


def test_an_entry_is_taken_back_and_stays_readable(maker: Visitor, opened: str, place: Path) -> None:
    before = (place / "trials" / "one.yaml").read_bytes()
    text = write(maker, opened, remark="smells of smoke").text
    number = re.findall(r'aria-label="Take entry (\d+) back"', text)[-1]
    text = write(maker, opened, correct=number).text
    assert "smells of smoke</bdi> <small>taken back</small>" in text
    assert (place / "trials" / "one.yaml").read_bytes().startswith(before)


def test_what_was_typed_comes_back_with_the_fault(maker: Visitor, opened: str, place: Path) -> None:
    before = (place / "trials" / "one.yaml").read_bytes()
    answer = write(maker, opened, measure="thickness", value="38 spoons", remark="kept & typed")
    assert answer.status_code == 409
    assert "Nothing was written." in answer.text
    assert 'value="38 spoons"' in answer.text
    assert "kept &amp; typed" in answer.text
    assert (place / "trials" / "one.yaml").read_bytes() == before


def test_options_of_the_command_line_are_not_spoken_of(maker: Visitor, opened: str) -> None:
    for fields in ({}, {"stored": "40 C"}, {"measure": "ph", "value": "5", "spread": "-1"}, {"felt": "a"}):
        text = write(maker, opened, **fields).text
        assert "Nothing was written." in text
        assert not re.search(r"[^<!]--[a-z]", text.partition("<main")[2])


def test_two_tabs_do_not_write_over_each_other(maker: Visitor, opened: str) -> None:
    write(maker, opened, remark="first")
    answer = maker.post(f"/trial/{opened}/record", seen="0", day=DAY, remark="second")
    assert answer.status_code == 409
    assert "was written down for this trial meanwhile" in answer.text
    assert 'value="second"' in answer.text


def test_hostile_words_stay_words(maker: Visitor, opened: str) -> None:
    text = write(maker, opened, remark='<script>alert("x")</script>').text
    assert "<script>alert" not in text
    assert "&lt;script&gt;" in text


def test_no_name_becomes_a_path(maker: Visitor) -> None:
    for name in ("..%2f..%2fsettings", "nothing", "..%5csettings"):
        assert maker.get(f"/trial/{name}").status_code == 404
    assert maker.open_trial("/proposal/..%2fbase", day=DAY).status_code == 404


def test_a_trial_has_an_end(maker: Visitor) -> None:
    maker.open_trial("/formula/sunflower-balm", day=DAY, called="two")
    assert "· accepted" in write(maker, "two", decide="accept").text
    assert "· given up" in write(maker, "two", decide="drop", remark="too hard").text


def send(maker: Visitor, name: str, content: bytes) -> Any:
    return maker.client.post("/readings", data={"token": maker.keys.form}, files={"file": (name, content)})


def test_a_table_of_readings_is_shown_then_kept(maker: Visitor, place: Path) -> None:
    path = place / "trials" / "balm-1.yaml"
    before = path.read_bytes()
    shown = send(maker, "read.csv", b"trial,day,measure,value,unit\nbalm-1,2026-11-25,melt,41,C\n")
    assert "1 entry to keep from <bdi>read.csv</bdi>; nothing is kept yet." in shown.text
    assert path.read_bytes() == before
    kept = maker.post(shown.url.path)
    assert "1 entry kept." in kept.text
    assert b"melt" in path.read_bytes()
    assert "Nothing new: every row was kept before." in maker.get(shown.url.path).text


def test_a_table_with_faults_keeps_nothing(maker: Visitor, place: Path) -> None:
    path = place / "trials" / "balm-2.yaml"
    before = path.read_bytes()
    rows = b"trial,day,measure,value,unit\nbalm-2,2026-11-25,melt,41,C\nnobody,2026-11-25,ph,5,\n"
    shown = send(maker, "bad.csv", rows)
    assert shown.status_code == 409
    assert "1 fault in <bdi>bad.csv</bdi>." in shown.text
    assert "nobody" in shown.text
    assert "Keep these" not in shown.text
    maker.post(shown.url.path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("x.exe", b"MZ", "neither CSV nor XLSX"),
        ("x.xlsx", b"no book", "x.xlsx"),
        ("x.csv", b"\x00\xff" * 200, "x.csv"),
        ("x.csv", b"a" * 2_000_001, "larger than 2 MB"),
        ("../../<b>.csv", b"trial,day\n", "readings.csv"),
    ],
)
def test_a_broken_upload_is_told(maker: Visitor, name: str, content: bytes, told: str) -> None:
    shown = send(maker, name, content)
    assert shown.status_code == 409
    assert told in shown.text
    assert "<b>" not in shown.text


def learned(maker: Visitor) -> str:
    text = str(maker.get("/learning").text)
    for _ in range(100):
        seen = re.search(r"/learning\?seen=\d+", text)
        if seen is None:
            return text
        text = str(maker.get(seen[0], **{"hx-request": "true"}).text)
    raise AssertionError("no answer came")


def test_what_trials_teach_is_shown_and_written_only_by_a_press(
    maker: Visitor, opened: str, place: Path
) -> None:
    write(maker, opened, **{"weighed-beeswax": "7.2"}, measure="density", value="0.95")
    text = learned(maker)
    assert re.search(r"Before and after.*?Sunflower oil", text, re.DOTALL)
    assert re.search(r'href="/trial/one".*?0\.95 g/ml', text, re.DOTALL)
    assert len(re.findall(r'<td[^>]* data-label="', text)) == text.count("<td")
    drawing = maker.get(re.search(r"/learning/check\.svg\?of=[^\"]+", text)[0])  # type: ignore[index]
    assert drawing.headers["content-type"].startswith("image/svg")
    assert "Each trial as the other trials foretell it" in drawing.text
    assert not (place / "learned.csv").exists()
    assert maker.post("/learning/write", of="0-x").status_code == 409
    assert not (place / "learned.csv").exists()


def test_any_two_are_set_side_by_side(maker: Visitor, opened: str) -> None:
    text = maker.get("/compare?first=formula:sunflower-balm&second=trial:balm-1").text
    assert "lines are apart, by" in text
    assert re.search(r"Beeswax.*?7\.000.*?5\.000.*?−2\.000", text, re.DOTALL)
    assert "Coconut" not in text.partition("<h2")[2].partition("alike")[0] or "alike" in text
    plan = maker.get(f"/compare?first=trial:{opened}").text
    assert "as planned" in plan
    whole = maker.get("/compare?first=formula:sunflower-balm&second=trial:balm-1&all=yes").text
    assert whole.count('scope="row"') > text.count('scope="row"')


def test_nothing_unknown_is_compared(maker: Visitor) -> None:
    for first in ("proposal:../../etc/passwd", "trial:nobody", "x", "formula:"):
        assert maker.get(f"/compare?first={first}").status_code == 404


@pytest.mark.parametrize(("name", "grams", "apart"), [("less", "2.9", ""), ("more", "12.9", "+0.40")])
def test_less_than_the_most_of_a_dosed_line_is_no_error_of_weighing(
    maker: Visitor, name: str, grams: str, apart: str
) -> None:
    maker.open_trial("/formula/oat-rose-mask", day=DAY, size="250 g", called=name)
    write(maker, name, **{"weighed-citric-acid-20": grams})
    text = maker.get(f"/trial/{name}").text
    assert "dosed to a reading: at most" in text
    row = text.partition("Citric acid")[2].partition("</tr>")[0]
    found = re.search(r'data-label="Apart, g">(.*?)</td>', row)
    assert found is not None
    assert found[1].replace("\u2212", "-").strip() == apart
