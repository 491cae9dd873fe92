"""The first page: there before the folder is read, so that nobody waits before an empty window.

What stands behind it is read meanwhile, and comes into the same page by itself.
"""

from __future__ import annotations

import threading
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route, Router
from starlette.types import ASGIApp, Receive, Scope, Send

from optimiser.loading.glance import glance_at
from optimiser.page.assets import give
from optimiser.page.filling import environment
from optimiser.page.guard import STATIC, Keys

if TYPE_CHECKING:
    from optimiser.page.later import Later
    from optimiser.page.show import Page

WHOLE = "whole"
"""A question in the address for the page as it is once the folder is read; for browsers without script."""


@dataclass(frozen=True, slots=True)
class Behind:
    """All that the page is besides its first sight."""

    app: ASGIApp
    later: Later
    page: Page


class First:
    """The outermost of the page. `given` is set once something of what stands behind it was given out."""

    def __init__(self, folder: Path, keys: Keys) -> None:
        self.given = threading.Event()
        self._folder, self._keys = folder, keys
        self._lock = threading.Lock()
        self._behind: Behind | None = None
        self._tried = self._closed = False
        self._styles = Router([Route("/static/{name:path}", give)])

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"].startswith(STATIC):
            await self._styles(scope, receive, send)
        elif not self._is_read and _glanced(Request(scope)):
            answer = await run_in_threadpool(self._glance)
            await answer(scope, receive, send)
        else:
            behind = self._behind
            if behind is None:
                behind = await run_in_threadpool(self._ready)
            await behind.app(scope, receive, send)
            self.given.set()

    def read(self) -> None:
        """Reads the program behind the first page, and the folder. Whatever is wrong with the folder is told
        to whoever asks for it.
        """
        behind = self._ready()
        with suppress(Exception):
            behind.page.desk.look()
        self._tried = True

    def make_ready(self) -> None:
        """The other screens and the processes that solve."""
        behind = self._ready()
        if not self._closed:
            behind.page.work.warm()
            behind.later.read()

    def close(self) -> None:
        """Waits for nothing: a reading that is under way ends by itself."""
        self._closed = True
        if self._behind is not None:
            self._behind.page.work.close()

    @property
    def _is_read(self) -> bool:
        return self._tried or (self._behind is not None and self._behind.page.desk.holds)

    def _ready(self) -> Behind:
        """What stands behind the first page, its program read once. Safe to call from several threads."""
        with self._lock:
            if self._behind is None:
                from optimiser.page.app import application
                from optimiser.page.desk import Desk
                from optimiser.page.later import Later
                from optimiser.page.show import Page
                from optimiser.page.work import Work

                page = Page(Desk(self._folder), Work(self._folder), self._keys)
                later = Later(page)
                self._behind = Behind(application(page, later), later, page)
            return self._behind

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
    plain = request.method in ("GET", "HEAD") and request.headers.get("hx-request") != "true"
    return plain and request.url.path == "/" and WHOLE not in request.query_params
