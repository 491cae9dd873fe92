"""A saved proposal, and the sheet to print from it."""

from __future__ import annotations

from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from optimiser.export.sheet_html import sheet_html
from optimiser.export.sheet_paper import record_html, table_html
from optimiser.page.guard import PAPER_CSP
from optimiser.page.show import Page
from optimiser.page.views.answer import shown_of
from optimiser.workflows.compare import opened
from optimiser.workflows.sheet import SheetWanted, make_sheet

PAPERS = {"full": sheet_html, "table": table_html, "record": record_html}
LONGEST = 200


def routes(page: Page) -> list[Route]:
    async def proposal(request: Request) -> Response:
        return await run_in_threadpool(_proposal, page, request.path_params["name"])

    async def sheet(request: Request) -> Response:
        asked = {key: request.query_params.get(key, "")[:LONGEST] for key in ("batch", "because", "paper")}
        return await run_in_threadpool(_sheet, page, request.path_params["name"], asked)

    return [Route("/proposal/{name}", proposal), Route("/sheet/{name}", sheet)]


def proposal_file(page: Page, name: str) -> Path:
    """Only names that the folder lists: nothing typed becomes a path."""
    if name not in page.desk.proposals():
        raise HTTPException(404, "No proposal of this folder is called so.")
    return page.desk.folder / "proposals" / f"{name}.yaml"


def _proposal(page: Page, name: str) -> Response:
    path = proposal_file(page, name)
    sources = page.desk.sources()
    found = opened(sources, str(path))
    shown = shown_of(found.proposal, found.request, page.figures)
    return page.show(
        "proposal.html",
        name=name,
        title=found.side.name,
        shown=shown,
        currency=found.request.currency,
        batch=f"{page.figures.short(found.request.batch_g)} g",
    )


def _sheet(page: Page, name: str, asked: dict[str, str]) -> Response:
    path = proposal_file(page, name)
    wanted = SheetWanted(path, path.parent, batch=asked["batch"], because=asked["because"])
    made = make_sheet(wanted)
    html = PAPERS.get(asked["paper"], sheet_html)(made)
    return HTMLResponse(html, headers={"content-security-policy": PAPER_CSP})
