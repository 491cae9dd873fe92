"""Waiting for an answer that is under way, for every screen that asks for one."""

from __future__ import annotations

import asyncio
import time

from starlette.requests import Request

from optimiser.page.show import is_fragment, whole
from optimiser.page.work import Job

SOON = 0.45
"""Seconds an answer is waited for before a page is sent without it."""
LONGEST_WAIT = 20.0
A_BLINK = 0.008


async def until(job: Job, longest: float, seen: int | None = None) -> None:
    """Waits for the end of the job, or for something new to tell after version `seen`."""
    end = time.monotonic() + longest
    while job.state == "running" and time.monotonic() < end:
        if seen is not None and job.version != seen:
            return
        await asyncio.sleep(A_BLINK)


async def waited(job: Job, request: Request) -> None:
    """A moment for a whole page; for a part that asks with `seen`, until there is something new."""
    seen = request.query_params.get("seen", "")
    if is_fragment(request) and seen:
        await until(job, LONGEST_WAIT, whole(seen, -1))
    else:
        await until(job, SOON)
