"""A saved proposal, looked at."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.page.desk import mark_of
from optimiser.page.notices import GONE, Beside, looks, state_of
from optimiser.page.show import Page
from optimiser.page.views.answer import shown_of
from optimiser.workflows.compare import opened


def routes(page: Page) -> list[Route]:
    async def proposal(request: Request) -> Response:
        return await run_in_threadpool(_proposal, page, request.path_params["name"])

    changed, gone = "The file of this proposal changed.", "The file of this proposal was taken away."
    beside = Beside(partial(_file_mark, page), changed, gone)
    return [
        Route("/proposal/{name}", proposal),
        *looks(page, "/proposal/{name}", lambda name, _then: proposal_file(page, name), beside),
    ]


def proposal_file(page: Page, name: str) -> Path:
    """Only names that the folder lists: nothing typed becomes a path."""
    if name not in page.desk.proposals():
        raise HTTPException(404, "No proposal of this folder is called so.")
    return page.desk.folder / "proposals" / f"{name}.yaml"


def _file_mark(page: Page, name: str) -> str:
    """Another one for each state of the file; GONE for a name that the folder does not list."""
    return mark_of([proposal_file(page, name)]) if name in page.desk.proposals() else GONE


def _proposal(page: Page, name: str) -> Response:
    path = proposal_file(page, name)
    seen, mark = page.desk.look(), _file_mark(page, name)
    found = opened(seen.needed(), str(path))
    shown = shown_of(found.proposal, found.request, page.figures)
    return page.show(
        "proposal.html",
        name=name,
        at=f"/proposal/{quote(name, safe='')}",
        of=state_of(seen.stamp, mark),
        title=found.side.name,
        shown=shown,
        currency=found.request.currency,
        batch=f"{page.figures.short(found.request.batch_g)} g",
    )
