"""An answer that ends while the page of it is being written is asked for at once, and never lost sight of."""

from __future__ import annotations

from typing import Any

import pytest

from optimiser.page.drafts import Asking
from optimiser.page.filling import environment
from optimiser.page.jobs import Job
from optimiser.page.questions import LOST, Question


def waiting(job: Job, shown: Any = None) -> str:
    template = environment().get_template("_waiting.html")
    return template.render({"job": job, "at": "/learning", "token": "t", "shown": shown})


def job(state: Any, **more: Any) -> Job:
    return Job(Question("", Asking(), 1, "learn"), "owner", state, version=3, **more)


@pytest.mark.parametrize("state", ["running", "done"])
def test_what_is_not_shown_yet_is_asked_for(state: str) -> None:
    assert 'hx-get="/learning?seen=3"' in waiting(job(state))


def test_what_failed_was_stopped_or_is_shown_is_not_asked_for_again() -> None:
    assert "hx-get" not in waiting(job("fault", fault=LOST))
    assert LOST.what in waiting(job("fault", fault=LOST))
    assert "Stopped." in waiting(job("stopped"))
    assert "hx-get" not in waiting(job("done"), shown="what came of it")
