"""What I have: the folder at a glance. It is the first screen, so it reads little of the program."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.page.show import Page
from optimiser.page.views.have import have_of
from optimiser.workflows.worktable import files_to_start_with


def routes(page: Page) -> list[Route]:
    async def home(_request: Request) -> Response:
        return await run_in_threadpool(_home, page)

    return [Route("/", home)]


def _home(page: Page) -> Response:
    if page.desk.empty:
        return page.show("begin.html", step="have", place=page.desk.folder.name, files=files_to_start_with())
    seen = page.desk.look()
    trials, faults = page.desk.trials()
    have = have_of(seen, page.desk.kept(), trials, page.figures)
    return page.show("have.html", step="have", have=have, problems=(*seen.problems, *faults))
