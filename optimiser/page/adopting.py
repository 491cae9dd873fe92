"""A kept proposal becomes a formula of the folder: the file is shown first and written by a press."""

from __future__ import annotations

import hashlib
import re
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.errors import OptimiserError, UsageError
from optimiser.page.faults import fault_of
from optimiser.page.kept import proposal_file
from optimiser.page.questions import Fault
from optimiser.page.show import Page, to, word
from optimiser.workflows.adopt import Adoption, plan_adoption, write_adoption

LONGEST_FILE, LONGEST_TITLE = 80, 120
NOT_PLAIN = re.compile(r"[^a-z0-9]+")
ROUTE = "/proposal/{name}/adopt"


def routes(page: Page) -> list[Route]:
    async def show(request: Request) -> Response:
        said = [request.query_params.get(key, "") for key in ("called", "title")]
        return await run_in_threadpool(_shown, page, request.path_params["name"], *said)

    async def write(request: Request) -> Response:
        form = await page.form(request)
        said = [word(form, key) for key in ("called", "title", "of")]
        return await run_in_threadpool(_written, page, request.path_params["name"], *said)

    return [Route(ROUTE, show), Route(ROUTE, write, methods=["POST"])]


def file_name(title: str) -> str:
    """A name for a file, from what the formula is called."""
    return NOT_PLAIN.sub("-", title.casefold()).strip("-")[:LONGEST_FILE].rstrip("-")


def _planned(page: Page, name: str, called: str, title: str) -> Adoption:
    path = proposal_file(page, name)
    return plan_adoption(path, called[:LONGEST_FILE], title.strip()[:LONGEST_TITLE])


def _shown(page: Page, name: str, called: str, title: str) -> Response:
    """What would be written; a fault stands beside what was typed."""
    proposal_file(page, name)
    title = " ".join(title.split())
    called = called.strip() or file_name(title) or file_name(name)
    try:
        return _page(page, name, called, title, _planned(page, name, called, title))
    except OptimiserError as fault:
        return _page(page, name, called, title, None, fault_of(fault))


def _page(
    page: Page, name: str, called: str, title: str, planned: Adoption | None, fault: Fault | None = None
) -> Response:
    return page.show(
        "adopt.html",
        409 if fault else 200,
        name=name,
        called=called,
        title=title,
        planned=planned,
        of=_digest(planned) if planned else "",
        fault=fault,
    )


def _digest(planned: Adoption) -> str:
    return hashlib.blake2b(planned.text.encode(), digest_size=12).hexdigest()


def _written(page: Page, name: str, called: str, title: str, of: str) -> Response:
    """Writes only the text that was shown, and only where no file lies."""
    try:
        planned = _planned(page, name, called, title)
        if _digest(planned) != of:
            raise UsageError("the files changed meanwhile, so another formula would be written", "look again")
        done = write_adoption(planned)
    except OptimiserError as fault:
        return _page(page, name, called, title, None, fault_of(fault))
    return to(f"/formula/{quote(done.formula.id)}")
