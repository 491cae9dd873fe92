"""The first page: there before the folder is read, so that nobody waits before an empty window.

What stands behind it is read meanwhile, and comes into the same page by itself.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route, Router
from starlette.types import ASGIApp, Receive, Scope, Send

from optimiser.page.assets import give
from optimiser.page.filling import environment
from optimiser.page.glance import glance_at
from optimiser.page.guard import Keys

if TYPE_CHECKING:
    from optimiser.page.later import Later
    from optimiser.page.work import Work

WHOLE = "whole"
"""A question in the address for the page as it is once the folder is read; for browsers without script."""


class First:
    """The outermost of the page. `given` is set once something of what stands behind it was given out."""

    def __init__(self, folder: Path, keys: Keys) -> None:
        self.given = threading.Event()
        self._folder, self._keys = folder, keys
        self._lock = threading.Lock()
        self._behind: tuple[ASGIApp, Later, Work] | None = None
        self._styles = Router([Route("/static/{name}", give)])

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["path"].startswith("/static/"):
            await self._styles(scope, receive, send)
        elif self._behind is None and _glanced(Request(scope)):
            answer = await run_in_threadpool(self._glance)
            await answer(scope, receive, send)
        else:
            behind = self._behind
            app, _, _ = behind if behind is not None else await run_in_threadpool(self.read)
            await app(scope, receive, send)
            self.given.set()

    def read(self) -> tuple[ASGIApp, Later, Work]:
        """Reads the program behind the first page and the folder, once. Safe to call from several threads."""
        with self._lock:
            if self._behind is None:
                from optimiser.page.app import application
                from optimiser.page.desk import Desk
                from optimiser.page.later import Later
                from optimiser.page.show import Page
                from optimiser.page.work import Work

                work = Work(self._folder)
                page = Page(Desk(self._folder), work, self._keys)
                later = Later(page)
                page.desk.look()
                self._behind = application(page, later), later, work
            return self._behind

    def make_ready(self) -> None:
        """The other screens and the processes that solve."""
        _, later, work = self.read()
        work.warm()
        later.read()

    def close(self) -> None:
        with self._lock:
            if self._behind is not None:
                self._behind[2].close()

    def _glance(self) -> Response:
        glance = glance_at(self._folder)
        text = (
            environment()
            .get_template("glance.html")
            .render(folder_name=glance.name, step="have", glance=glance, whole=WHOLE)
        )
        return HTMLResponse(text)


def _glanced(request: Request) -> bool:
    """Whether a whole page is asked for that a glance can stand for."""
    plain = request.method == "GET" and request.headers.get("hx-request") != "true"
    return plain and request.url.path == "/" and WHOLE not in request.query_params
