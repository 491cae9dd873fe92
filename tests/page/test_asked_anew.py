"""A process that solves may die at any moment: the maker is told so, and asks the same again by a press."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from starlette.testclient import TestClient

from optimiser.domain.moved import Moved
from optimiser.page.app import make_app
from optimiser.page.desk import Desk, stamp_of
from optimiser.page.drafts import Asking
from optimiser.page.guard import Keys
from optimiser.page.hands import Hand
from optimiser.page.jobs import Job
from optimiser.page.questions import LOST, Fault, Question
from optimiser.page.solving import Solver
from optimiser.page.work import Work
from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import HOST, Visitor
from tests.page.test_trading_and_why import ended

AGAIN = re.compile(
    r'<form method="post" action="([^"]+/again)"[^>]*>(.*?)<button>Ask again</button>', re.DOTALL
)
FIELD = re.compile(r'name="(\w+)" value="([^"]*)"')
PART = {"hx-request": "true"}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place: Path = tmp_path_factory.mktemp("anew") / "table"
    start_worktable(place)
    return place


@pytest.fixture(scope="module")
def work(place: Path) -> Iterator[Work]:
    work = Work(place)
    work.warm()
    yield work
    work.close()


@pytest.fixture(scope="module")
def served(place: Path, work: Work) -> Iterator[Visitor]:
    keys = Keys(frozenset({HOST}))
    with TestClient(make_app(Desk(place), work, keys), base_url=f"http://{HOST}") as client:
        client.cookies.set(keys.cookie, keys.key)
        yield Visitor(client, keys)


def pressed(served: Visitor, text: str, headers: dict[str, str] | None = None) -> Any:
    form = AGAIN.search(text)
    assert form is not None
    fields = dict(FIELD.findall(form[2]))
    del fields["token"]
    return served.post(form[1], headers, **fields)


def asked(served: Visitor, share: str = "5") -> str:
    """A request that is answered quickly; another share is another question."""
    at = served.change("sunflower-balm")
    served.post(f"{at}/limit", rule="line:", name="shea-butter", low=share, high=share, revision="0")
    return at


def test_the_same_request_is_asked_again(served: Visitor, dying: pytest.MonkeyPatch) -> None:
    at = asked(served)
    text = served.answer(at)
    assert LOST.what in text
    assert LOST.what in served.answer(at), "it is not asked anew unasked"
    dying.undo()
    part = pressed(served, text, PART).text
    assert part.startswith('<section id="make"')
    assert "Keep this proposal" in served.answer(at)


def test_without_script_the_whole_page_comes_back(served: Visitor, dying: pytest.MonkeyPatch) -> None:
    at = asked(served, "6")
    whole = pressed(served, served.answer(at))
    assert whole.url.path == at
    assert "<h1>" in whole.text


@pytest.mark.parametrize(
    "screen", ["why", "why/another?without=shea-butter&use=", "trade?between=cost&against=departure"]
)
def test_every_screen_that_waits_asks_again(served: Visitor, dying: pytest.MonkeyPatch, screen: str) -> None:
    at = asked(served)
    text = ended(served, f"{at}/{screen}")
    assert LOST.what in text
    again = pressed(served, text)
    assert str(again.url).endswith(f"{at}/{screen}")
    assert LOST.what in ended(served, f"{at}/{screen}")


def test_what_trials_teach_is_asked_again(served: Visitor, dying: pytest.MonkeyPatch) -> None:
    text = ended(served, "/learning")
    dying.undo()
    assert LOST.what not in pressed(served, text).text
    assert LOST.what not in ended(served, "/learning")


def test_a_process_that_dies_once_costs_no_press(served: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    sent = Hand.send
    told: list[Hand] = []

    def dies_first(self: Hand, *asked: Any) -> None:
        sent(self, *asked)
        if not told:
            self.process.kill()
            self.process.join(5)
        told.append(self)

    monkeypatch.setattr(Hand, "send", dies_first)
    assert "Keep this proposal" in served.answer(asked(served, "4"))
    assert len(told) == 2
    assert told[0] is not told[1]


def test_words_are_there_before_the_rest_and_outlive_no_process(
    work: Work, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Shown at once; where the process dies before the rest of the answer is here, nothing can be kept."""
    held = threading.Event()

    def held_back(self: Hand, _sources: object) -> None:
        held.wait(20)
        self.process.kill()
        raise BrokenPipeError

    monkeypatch.setattr(Hand, "bring_the_rest", held_back)
    asking = Asking().with_limit(Moved("line:shea-butter", Fraction(3), Fraction(3)))
    job = work.ask(Question("sunflower-balm", asking, stamp_of(work.folder)), "words")
    until = time.monotonic() + 60
    while job.state == "running" and time.monotonic() < until:
        time.sleep(0.02)
    assert job.words is not None
    assert job.words.kind == "proposals"
    held.set()
    assert job.outcome is None
    assert job.fault == LOST


def test_what_cannot_be_read_ends_the_wait(served: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    def unreadable(*_told: object) -> None:
        raise KeyError("ingredient")

    with monkeypatch.context() as patch:
        patch.setattr("optimiser.page.hands.unpacked", unreadable)
        text = served.answer(asked(served, "7"))
    assert LOST.what in text
    pressed(served, text)
    assert "Keep this proposal" in served.answer(asked(served, "7"))


def test_a_fault_of_the_data_is_not_asked_again(served: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    fault = Fault("1 problem in the data", "mend these and ask again", ("ingredients.csv, line 3",))

    def failed(_self: Work, job: Job, *_rest: object) -> None:
        job.fail(fault)

    monkeypatch.setattr(Work, "_listen", failed)
    at = asked(served, "8")
    text = served.answer(at)
    assert "ingredients.csv, line 3" in text
    assert "Ask again<" not in text
    served.post(f"{at}/again")
    assert "ingredients.csv, line 3" in served.answer(at)


def test_processes_that_died_while_they_waited_answer_nothing_and_cost_nothing(
    served: Visitor, work: Work
) -> None:
    for hand in list(work._idle):
        hand.process.kill()
        hand.process.join(5)
    at = asked(served, "9")
    assert "Keep this proposal" in served.answer(at)


@pytest.mark.parametrize("told", [BlockingIOError("no room for a process"), EOFError(), MemoryError()])
def test_no_room_for_another_process_ends_no_thread(
    place: Path, monkeypatch: pytest.MonkeyPatch, told: BaseException
) -> None:
    def full(_self: Work) -> Hand:
        raise told

    monkeypatch.setattr(Work, "_hire", full)
    work, job = Work(place), Job(Question("sunflower-balm", Asking(), 1))
    work._run(job)
    assert (job.state, job.fault) == ("fault", LOST)
    dead: Any = SimpleNamespace(is_alive=lambda: False, join=lambda _seconds: None, close=lambda: None)
    work._let_go(Hand(dead, dead))


def test_no_room_for_another_thread_is_told(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_self: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    with monkeypatch.context() as patch:
        patch.setattr(threading.Thread, "start", full)
        job = Work(place).ask(Question("sunflower-balm", Asking(), 1), "owner")
    assert (job.state, job.fault) == ("fault", LOST)


def test_what_waits_for_its_turn_as_the_page_ends_is_lost_not_left(place: Path) -> None:
    work = Work(place)
    work.close()
    job = Job(Question("sunflower-balm", Asking(), 1))
    work._run(job)
    assert (job.state, job.fault) == ("fault", LOST)


def test_words_that_cannot_be_made_are_a_fault_of_the_program(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def wrong(*_told: object) -> None:
        raise ZeroDivisionError("of a share")

    monkeypatch.setattr("optimiser.page.solving.outcome_shown", wrong)
    solver = Solver(place)
    kind, fault = solver.words(Question("sunflower-balm", Asking(), 1), None)
    assert kind == "fault"
    assert "A fault in the program (ZeroDivisionError: of a share)" in fault.what


def test_a_fault_of_the_program_says_that_it_may_come_again(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_asked: object) -> None:
        raise ZeroDivisionError("of what the table says")

    monkeypatch.setattr("optimiser.page.solving.ask", broken)
    question = Question("sunflower-balm", Asking(aim="cheapest"), stamp_of(place))
    kind, fault = Solver(place).answer(question, print)
    assert (kind, fault.again) == ("fault", True)
    assert fault.what == "A fault in the program (ZeroDivisionError: of what the table says)."
    assert "it may fail the same way: then please report it" in fault.fix


def test_no_memory_left_is_told_as_such(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_asked: object) -> None:
        raise MemoryError

    monkeypatch.setattr("optimiser.page.solving.ask", full)
    question = Question("sunflower-balm", Asking(aim="cheapest"), stamp_of(place))
    assert Solver(place).answer(question, print) == ("fault", LOST)


def test_the_rest_waits_until_the_words_are_drawn_or_something_wants_it(
    work: Work, monkeypatch: pytest.MonkeyPatch
) -> None:
    brought: list[float] = []
    bring = Hand.bring_the_rest

    def noted(self: Hand, sources: Any) -> Any:
        brought.append(time.perf_counter())
        return bring(self, sources)

    monkeypatch.setattr(Hand, "bring_the_rest", noted)
    monkeypatch.setattr("optimiser.page.jobs.DRAWN_S", 1.5)
    there: list[float] = []
    for share in (2, 1):
        asking = Asking().with_limit(Moved("line:shea-butter", Fraction(share), Fraction(share)))
        job = work.ask(Question("sunflower-balm", asking, stamp_of(work.folder)), "drawn")
        until = time.monotonic() + 60
        while job.words is None and time.monotonic() < until:
            time.sleep(0.005)
        there.append(time.perf_counter())
        if share == 1:
            assert job.outcome is not None
        else:
            time.sleep(1.6)
    assert len(brought) == 2
    assert brought[0] - there[0] > 1
    assert brought[1] - there[1] < 1
