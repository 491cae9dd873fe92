"""An empty folder: what it can be started with is shown, and written by a press."""

from __future__ import annotations

import threading

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.page.show import Page, to
from optimiser.workflows.worktable import start_worktable

_writing = threading.Lock()


def routes(page: Page) -> list[Route]:
    async def begin(request: Request) -> Response:
        await page.form(request)
        await run_in_threadpool(_begun, page)
        return to("/")

    return [Route("/begin", begin, methods=["POST"])]


def _begun(page: Page) -> None:
    """Raises UsageError where something lies in the folder by now; nothing of it is touched then."""
    with _writing:
        start_worktable(page.desk.folder)
