"""Screens that are read once the first page is out, or when the first of them is asked for."""

from __future__ import annotations

import threading

from starlette.concurrency import run_in_threadpool
from starlette.routing import Router
from starlette.types import Receive, Scope, Send

from optimiser.page.show import Page


class Later:
    """Answers with the routes of `screens`; reading them takes longer than the whole first page."""

    def __init__(self, page: Page) -> None:
        self._page, self._lock = page, threading.Lock()
        self._router: Router | None = None

    def read(self) -> Router:
        """The routes, read once. Safe to call from several threads."""
        with self._lock:
            if self._router is None:
                from optimiser.page.screens import routes

                self._router = Router(routes(self._page))
            return self._router

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        router: Router | None = self._router
        if router is None:
            router = await run_in_threadpool(self.read)
        await router(scope, receive, send)
