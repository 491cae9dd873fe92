"""A question that has to wait is answered of the files it was asked of, though they change meanwhile."""

from __future__ import annotations

import time
from pathlib import Path

from optimiser.domain.outcome import Proposals
from optimiser.page.desk import Desk
from optimiser.page.drafts import Asking
from optimiser.page.guard import Keys
from optimiser.page.jobs import Job
from optimiser.page.questions import Question
from optimiser.page.show import Page
from optimiser.page.work import MOST_AT_ONCE, Work
from optimiser.workflows.worktable import start_worktable
from tests.page.conftest import HOST


def named(job: Job) -> str:
    """What the balm's wax is called in the answer."""
    until = time.monotonic() + 120
    while job.state == "running" and time.monotonic() < until:
        time.sleep(0.02)
    assert isinstance(job.outcome, Proposals), job.fault
    return job.outcome.request.ingredients["carnauba-wax"].name


def test_what_waits_is_answered_of_its_own_files(tmp_path: Path) -> None:
    start_worktable(tmp_path / "table")
    file, desk = tmp_path / "table" / "ingredients.csv", Desk(tmp_path / "table")
    work = Work(desk.folder)
    page = Page(desk, work, Keys(frozenset({HOST})))
    question = Question("sunflower-balm", Asking(), desk.look().stamp)
    for _ in range(MOST_AT_ONCE):
        work._room.acquire()
    waiting = page.ask(question, "one")
    file.write_bytes(file.read_bytes().replace(b"Carnauba wax,", b"Carnauba wax from the fair,"))
    work._room.release()
    try:
        assert named(waiting) == "Carnauba wax"
        now = Question("sunflower-balm", Asking(), desk.look().stamp)
        assert named(page.ask(now, "two")) == "Carnauba wax from the fair"
        again = Question("sunflower-balm", Asking(aim="cheapest"), question.stamp)
        assert named(page.ask(again, "three")) == "Carnauba wax"
    finally:
        work.close()
