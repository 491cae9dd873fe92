"""Sheets and trials are weighed out by the process that solves: waited for, stopped, written once."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from optimiser.page.hands import Hand
from optimiser.page.questions import LOST
from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import Visitor, visiting

DAY = "2026-11-26"
PAPER = 'class="n weigh"'
PART = {"hx-request": "true"}
HELD_S = 1.0
SENT = Hand.send
FORM = re.compile(r'<form method="post" action="([^"]+)"[^>]*>(.*?)</form>', re.DOTALL)
FIELD = re.compile(r'name="(\w+)" value="([^"]*)"')


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place: Path = tmp_path_factory.mktemp("weighed") / "table"
    start_worktable(place)
    return place


@pytest.fixture(scope="module")
def maker(place: Path) -> Iterator[Visitor]:
    with visiting(place, warm=True) as found:
        yield found


@pytest.fixture(scope="module")
def proposal(maker: Visitor) -> str:
    at = maker.change("sunflower-balm")
    maker.post(f"{at}/limit", rule="line:", name="beeswax", low="6.8", high="6.8", revision="0")
    maker.answer(at)
    return str(maker.post(f"{at}/save", which="0", revision="1").url.path)


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever asks waits longer than a page is held back for."""

    def late(self: Hand, *asked: Any) -> None:
        time.sleep(HELD_S)
        SENT(self, *asked)

    monkeypatch.setattr(Hand, "send", late)


def pressed(maker: Visitor, text: str, button: str) -> Any:
    """The form of this button, sent as it stands there."""
    form = next(form for form in FORM.finditer(text) if f">{button}</button>" in form[2])
    fields = {name: unescape(value) for name, value in FIELD.findall(form[2])}
    return maker.post(unescape(form[1]), **fields)


def sheet_of(proposal: str) -> str:
    return proposal.replace("proposal", "sheet")


def test_the_page_itself_solves_nothing(
    maker: Visitor, proposal: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def solved(*_asked: object) -> None:
        raise AssertionError("solved in the process of the page")

    monkeypatch.setattr("optimiser.workflows.sheet.weigh_out", solved)
    monkeypatch.setattr("optimiser.workflows.trials.weigh_out", solved)
    monkeypatch.setattr("optimiser.solver.highs.quiet_highs", solved)
    monkeypatch.setattr("pulp.LpProblem", solved)
    opened = maker.open_trial(proposal, day=DAY, size="100 g", called="elsewhere")
    assert opened.url.path == "/trial/elsewhere"
    for path in (f"{sheet_of(proposal)}?batch=120+g", "/trial/elsewhere/sheet"):
        assert PAPER in maker.weighed(path).text
    for path in ("/", "/formula/sunflower-balm", proposal, "/trial/elsewhere", "/learning"):
        assert maker.weighed(path).status_code == 200


@pytest.mark.usefixtures("slow")
def test_a_sheet_is_waited_for_and_can_be_stopped(maker: Visitor, proposal: str) -> None:
    at = f"{sheet_of(proposal)}?batch=130+g&because=&paper=table"
    text = maker.get(at).text
    assert 'class="wait"' in text
    stopped = pressed(maker, text, "Stop")
    assert "Stopped. Nothing was changed." in stopped.text
    again = re.search(r'<a href="([^"]+)">Ask again</a>', stopped.text)
    assert again is not None
    assert "batch=130+g" in again[1]
    assert PAPER in maker.weighed(unescape(again[1])).text


@pytest.mark.usefixtures("slow")
def test_the_part_that_waits_makes_way_for_the_paper(maker: Visitor, proposal: str) -> None:
    at = f"{sheet_of(proposal)}?batch=140+g"
    seen = re.search(r"seen=(\d+)", maker.get(at).text)
    assert seen is not None
    number, answer = seen[1], None
    for _ in range(50):
        answer = maker.get(f"{at}&seen={number}", **PART)
        if "hx-refresh" in answer.headers:
            break
        number = re.search(r"seen=(\d+)", answer.text)[1]  # type: ignore[index]
    assert answer is not None
    assert answer.headers["hx-refresh"] == "true"
    assert PAPER in maker.get(at).text


def test_a_proposal_changed_by_hand_is_weighed_anew(maker: Visitor, place: Path, proposal: str) -> None:
    file = place / "proposals" / f"{proposal.rpartition('/')[2]}.yaml"
    at = f"{sheet_of(proposal)}?batch=150+g"
    assert "My own balm" not in maker.weighed(at).text
    text = file.read_text(encoding="utf-8")
    name = re.search(r"^name: .*$", text, re.MULTILINE)
    assert name is not None
    file.write_text(text.replace(name[0], "name: My own balm"), encoding="utf-8")
    try:
        assert "My own balm" in maker.weighed(at).text
    finally:
        file.write_text(text, encoding="utf-8")


@pytest.mark.usefixtures("slow")
@pytest.mark.parametrize("called", ["", "sunflower-balm-once"])
def test_one_press_opens_one_trial(maker: Visitor, place: Path, called: str) -> None:
    before = set(place.glob("trials/*.yaml"))
    waiting = maker.post("/formula/sunflower-balm/trial", day=DAY, size="90 g", called=called)
    assert 'class="wait"' in waiting.text
    ready = maker.weighed(str(waiting.url))
    assert "data-go" in ready.text
    assert set(place.glob("trials/*.yaml")) == before
    opened = pressed(maker, ready.text, "Open the trial")
    assert opened.url.path.startswith("/trial/sunflower-balm-")
    for gone_back in (maker.get(str(waiting.url)), pressed(maker, ready.text, "Open the trial")):
        assert gone_back.url.path == opened.url.path
    assert len(set(place.glob("trials/*.yaml")) - before) == 1


@pytest.mark.usefixtures("slow")
def test_a_trial_that_waits_can_be_stopped(maker: Visitor, place: Path) -> None:
    before = set(place.glob("trials/*.yaml"))
    waiting = maker.post("/formula/sunflower-balm/trial", day=DAY, size="91 g")
    stopped = pressed(maker, waiting.text, "Stop")
    assert "Stopped. Nothing was changed." in stopped.text
    assert set(place.glob("trials/*.yaml")) == before


@pytest.mark.usefixtures("slow")
def test_whoever_waits_stops_nobody(maker: Visitor) -> None:
    """Three presses on one formula, and nobody gave a name: three trials, each of its own number."""
    waiting = [maker.post("/formula/sunflower-balm/trial", day=DAY, size=f"{80 + n} g") for n in range(3)]
    ready = [maker.weighed(str(one.url)) for one in waiting]
    assert ["data-go" in one.text for one in ready] == [True] * 3
    opened = [pressed(maker, one.text, "Open the trial") for one in ready]
    assert [one.status_code for one in opened] == [200] * 3
    assert len({one.url.path for one in opened}) == 3
    late = maker.get(str(waiting[0].url), **PART)
    assert late.headers["hx-redirect"] == opened[0].url.path


def test_the_same_word_of_another_press_is_not_taken_for_it(maker: Visitor) -> None:
    first = maker.open_trial("/formula/sunflower-balm", day=DAY, size="85 g", once="same")
    second = maker.open_trial("/formula/rose-serum", day=DAY, size="85 g", once="same")
    assert first.url.path.startswith("/trial/sunflower-balm-")
    assert second.url.path.startswith("/trial/rose-serum-")


@pytest.mark.usefixtures("slow")
def test_what_was_weighed_of_a_proposal_is_not_opened_once_that_is_another(
    maker: Visitor, place: Path, proposal: str
) -> None:
    file = place / "proposals" / f"{proposal.rpartition('/')[2]}.yaml"
    ready = maker.weighed(str(maker.post(f"{proposal}/trial", day=DAY, size="50 g").url))
    before, text = set(place.glob("trials/*.yaml")), file.read_text(encoding="utf-8")
    file.write_text("nonsense: yes\n", encoding="utf-8")
    try:
        after = pressed(maker, ready.text, "Open the trial")
        after = maker.weighed(str(after.url)) if 'class="wait"' in after.text else after
        assert "Open the trial" not in after.text
    finally:
        file.write_text(text, encoding="utf-8")
    assert set(place.glob("trials/*.yaml")) == before


@pytest.mark.usefixtures("slow")
def test_what_could_not_be_weighed_says_so_and_why(maker: Visitor) -> None:
    waiting = maker.post("/formula/sunflower-balm/trial", day=DAY, size="0.001 g")
    ready = maker.weighed(str(waiting.url))
    assert "It could not be weighed out." in ready.text
    refused = pressed(maker, ready.text, "See why")
    assert refused.status_code == 409
    assert "cannot be weighed out" in refused.text
    assert "data-go" not in maker.weighed(str(waiting.url)).text, "it was refused: nothing goes on by itself"


@pytest.mark.usefixtures("dying")
def test_a_name_that_is_taken_is_told_before_anything_is_weighed(maker: Visitor, place: Path) -> None:
    (place / "trials").mkdir(exist_ok=True)
    (place / "trials" / "taken.yaml").touch()
    refused = maker.post("/formula/sunflower-balm/trial", day=DAY, size="", called="taken")
    (place / "trials" / "taken.yaml").unlink()
    assert refused.status_code == 409
    assert "a trial is called" in refused.text.lower()


def test_a_trial_whose_work_broke_off_is_opened_by_another_press(
    maker: Visitor, place: Path, dying: pytest.MonkeyPatch
) -> None:
    before = set(place.glob("trials/*.yaml"))
    refused = maker.open_trial("/formula/sunflower-balm", day=DAY, size="95 g")
    assert refused.status_code == 409
    assert LOST.what in refused.text
    assert 'value="95 g"' in refused.text
    assert set(place.glob("trials/*.yaml")) == before
    dying.undo()
    assert maker.open_trial("/formula/sunflower-balm", day=DAY, size="95 g").status_code == 200


def test_a_sheet_whose_work_broke_off_is_asked_again(
    maker: Visitor, proposal: str, dying: pytest.MonkeyPatch
) -> None:
    at = f"{sheet_of(proposal)}?batch=160+g"
    text = maker.weighed(at).text
    assert LOST.what in text
    dying.undo()
    assert LOST.what in maker.weighed(at).text, "it is not asked anew unasked"
    assert pressed(maker, text, "Ask again").status_code == 200
    assert PAPER in maker.weighed(at).text


@pytest.mark.parametrize("typed", [{"day": "soon"}, {"size": "a jar"}, {"called": "no/name"}])
def test_what_cannot_be_read_is_not_waited_for(maker: Visitor, typed: dict[str, str]) -> None:
    fields = {"day": DAY, "size": "", "called": "", **typed}
    query = "&".join(f"{name}={value}" for name, value in fields.items())
    answer = maker.get(f"/formula/sunflower-balm/trial?{query}")
    assert answer.status_code == 409
    assert "aria-invalid" in answer.text


def test_what_the_folder_does_not_list_is_not_weighed(maker: Visitor) -> None:
    for path in ("/formula/nothing/trial", "/proposal/..%2fbase/trial", "/batch/one/trial", "/sheet/none"):
        assert maker.get(f"{path}?day={DAY}").status_code == 404
