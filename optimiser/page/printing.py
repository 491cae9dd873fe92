"""A saved proposal, and the sheet to print from it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from optimiser.errors import OptimiserError
from optimiser.export.sheet_html import sheet_html
from optimiser.export.sheet_paper import record_html, table_html
from optimiser.page.faults import fault_of
from optimiser.page.guard import PAPER_CSP
from optimiser.page.notices import GONE, Beside, looks, state_of
from optimiser.page.questions import Fault
from optimiser.page.show import Page
from optimiser.page.views.answer import shown_of
from optimiser.workflows.compare import opened
from optimiser.workflows.sheet import SheetWanted, make_sheet
from optimiser.workflows.volumes import batch_grams

PAPERS = {"full": sheet_html, "table": table_html, "record": record_html}
LONGEST = 200
WITH_OPTIONS = {
    'print it all the same with --because "your reason"': "to print it all the same, write your reason below",
    'add --density "1.15 g/ml", or give a weight': "give a weight",
}
"""What to do, where the workflow speaks of options of the command line."""
DILUTED = re.compile(r"; so does weighing as one part in ten of water: [^;]*|^weighing as [^;]*; so does ")
"""A way out that the page has no field for, with what parts it from the others."""


def routes(page: Page) -> list[Route]:
    async def proposal(request: Request) -> Response:
        return await run_in_threadpool(_proposal, page, request.path_params["name"])

    async def sheet(request: Request) -> Response:
        asked = {key: request.query_params.get(key, "")[:LONGEST] for key in ("batch", "because", "paper")}
        return await run_in_threadpool(_sheet, page, request.path_params["name"], asked)

    changed, gone = "The file of this proposal changed.", "The file of this proposal was taken away."
    beside = Beside(partial(_file_mark, page), changed, gone)
    return [
        Route("/proposal/{name}", proposal),
        *looks(page, "/proposal/{name}", lambda name, _then: proposal_file(page, name), beside),
        Route("/sheet/{name}", sheet),
    ]


def proposal_file(page: Page, name: str) -> Path:
    """Only names that the folder lists: nothing typed becomes a path."""
    if name not in page.desk.proposals():
        raise HTTPException(404, "No proposal of this folder is called so.")
    return page.desk.folder / "proposals" / f"{name}.yaml"


def _file_mark(page: Page, name: str) -> str:
    """Another one for each state of the file; GONE for a name that the folder does not list."""
    if name not in page.desk.proposals():
        return GONE
    try:
        about = proposal_file(page, name).stat()
    except FileNotFoundError:  # taken away since it was listed
        return GONE
    return hashlib.blake2b(f"{about.st_mtime_ns} {about.st_size}".encode(), digest_size=8).hexdigest()


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


def _sheet(page: Page, name: str, asked: dict[str, str]) -> Response:
    path = proposal_file(page, name)
    wanted = SheetWanted(path, path.parent, batch=asked["batch"], because=asked["because"])
    try:
        made = make_sheet(wanted)
    except OptimiserError as fault:
        return not_printed(
            page, fault, f"/sheet/{quote(name)}", asked, (f"/proposal/{quote(name)}", "the proposal")
        )
    html = PAPERS.get(asked["paper"], sheet_html)(made)
    return HTMLResponse(html, headers={"content-security-policy": PAPER_CSP})


def not_printed(
    page: Page, fault: OptimiserError, at: str, asked: Mapping[str, str], back: tuple[str, str]
) -> Response:
    """What keeps a sheet from being printed, above its form as filled in; `back` is the screen before."""
    told = fault_of(fault)
    held = "--because" in told.fix
    batch = is_no_batch(page, asked.get("batch", "")) or "cannot be weighed out" in told.what
    wrong = ("because",) if held else ("batch",) if batch else ()
    return not_yet(page, told, "This sheet is not printed yet", at, asked, wrong, back)


def not_yet(
    page: Page,
    fault: Fault,
    title: str,
    at: str,
    typed: Mapping[str, str],
    wrong: tuple[str, ...],
    back: tuple[str, str],
) -> Response:
    """A fault above the form that led to it, as it was filled in; fields that are `wrong` are marked."""
    return page.show(
        "not_yet.html",
        409,
        title=title,
        fault=replace(fault, fix=DILUTED.sub("", WITH_OPTIONS.get(fault.fix, fault.fix))),
        at=at,
        typed=typed,
        wrong=wrong,
        back=back,
    )


def is_no_batch(page: Page, text: str) -> bool:
    if not text.strip():
        return False
    try:
        batch_grams(text, page.desk.decimal)
    except OptimiserError:
        return True
    return False
