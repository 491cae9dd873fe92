"""Waiting for an answer that is under way, for every screen that asks for one."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from contextlib import suppress

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.page.jobs import Job
from optimiser.page.questions import Question
from optimiser.page.show import Page, is_fragment, to, whole

Asked = Callable[[Request, FormData], tuple[Question | None, str]]
"""What a posted form asks (None: nothing), and the address that shows its answer."""

SOON = 0.45
"""Seconds an answer is waited for before a page is sent without it."""
LONGEST_WAIT = 20.0


async def until(job: Job, longest: float, seen: int | None = None) -> None:
    """Waits for the end of the job, or for something new to tell after version `seen`."""
    news = asyncio.Event()
    loop, end = asyncio.get_running_loop(), time.monotonic() + longest

    def told() -> None:
        with suppress(RuntimeError):  # whoever waited went with the loop
            loop.call_soon_threadsafe(news.set)

    with job.heard_by(told):
        while job.state == "running" and (seen is None or job.version == seen):
            left = end - time.monotonic()
            if left <= 0:
                return
            with suppress(TimeoutError):
                await asyncio.wait_for(news.wait(), left)
            news.clear()


async def waited(job: Job, request: Request) -> None:
    """A moment for a whole page; for a part that asks with `seen`, until there is something new."""
    seen = request.query_params.get("seen", "")
    if is_fragment(request) and seen:
        await until(job, LONGEST_WAIT, whole(seen, -1))
    else:
        await until(job, SOON)


def presses(page: Page, at: str, asked: Asked) -> list[Route]:
    """Both buttons of an answer that is waited for: to stop it, and to ask anew where it ended by itself."""

    async def stop(request: Request) -> Response:
        question, shown = await run_in_threadpool(asked, request, await page.form(request))
        job = page.work.known(question) if question else None
        if job is not None:
            await run_in_threadpool(page.work.stop, job)
        return to(f"{shown}{'&' if '?' in shown else '?'}stopped=1")

    async def again(request: Request) -> Response:
        question, shown = await run_in_threadpool(asked, request, await page.form(request))
        if question is not None:
            page.work.forget(question)
        return to(shown)

    return [Route(f"{at}/stop", stop, methods=["POST"]), Route(f"{at}/again", again, methods=["POST"])]
