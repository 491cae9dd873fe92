"""The screen of a request that was not decided, which hardly a real request leads to, in a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from optimiser.domain.outcome import Undecided
from optimiser.domain.request import Remark
from optimiser.explain.impossible import NOT_DECIDED, SETTLES
from optimiser.page.jobs import Job
from optimiser.page.questions import Question
from optimiser.page.work import Work
from tests.page.conftest import HOST, Visitor, visiting
from tests.page.test_accessible import SIZES, faults
from tests.workflows.desk import asked, demo

RESTS = (
    Remark("beeswax", f"density of Beeswax is assumed: 0.9 to 1. {SETTLES} Possible.", "memory"),
    Remark("shea-butter", "Nobody said. Add a line for shea-butter to flags.csv.", ""),
)


class Slow(Work):
    """Work that never decides."""

    def ask(self, question: Question, owner: str, sources: Any = None) -> Job:  # noqa: ARG002
        outcome = asked(demo(), "sunflower-balm", "vegan")
        told = Undecided(outcome.request, outcome.base, NOT_DECIDED, RESTS)
        job = Job(question, owner)
        job.answer(None)
        job.complete(told)
        return job


@pytest.fixture(scope="module")
def visitor_of_slow(folder: Path) -> Iterator[Visitor]:
    with visiting(folder, work=Slow(folder)) as found:
        yield found


@pytest.mark.parametrize("size", SIZES)
def test_an_undecided_request_stands_in_nobodys_way(
    chromium: Any, visitor_of_slow: Visitor, size: str
) -> None:
    at = visitor_of_slow.change("sunflower-balm")
    visitor_of_slow.post(f"{at}/say", revision="0", what="brief", name="vegan")
    viewport, scheme = SIZES[size]
    window = chromium.new_context(viewport=viewport, color_scheme=scheme)
    page = window.new_page()

    def answer(route: Any) -> None:
        found = visitor_of_slow.get(urlsplit(route.request.url).path)
        route.fulfill(status=found.status_code, headers=dict(found.headers), body=found.content)

    page.route("**/*", answer)
    page.goto(f"http://{HOST}{at}")
    page.wait_for_selector("text=Density of Beeswax is assumed")
    assert faults(page) == []
    assert page.locator("h1").count() == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
    window.close()
