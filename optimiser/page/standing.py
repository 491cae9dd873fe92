"""One formula as it stands, judged, and the start of a request on it."""

from __future__ import annotations

from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.page.desk import Seen
from optimiser.page.notices import looks, state_of
from optimiser.page.show import Page, to
from optimiser.page.views.formula import blocks_of, cost_text, facts_of
from optimiser.page.views.have import about
from optimiser.page.views.rules import rule_table

NO_FORMULA = "No formula of this folder is called so."


def routes(page: Page) -> list[Route]:
    async def formula(request: Request) -> Response:
        return await run_in_threadpool(_formula, page, request.path_params["formula"])

    async def change(request: Request) -> Response:
        await page.form(request)
        name = await run_in_threadpool(_known, page, request.path_params["formula"])
        return to(f"/change/{page.drafts.start(name).id}")

    return [
        Route("/formula/{formula}", formula),
        *looks(page, "/formula/{name}", lambda name, then: _listed(page, name, then)),
        Route("/formula/{formula}/change", change, methods=["POST"]),
    ]


def _known(page: Page, name: str) -> str:
    if name not in page.desk.sources().worktable.formulas:
        raise HTTPException(404, NO_FORMULA)
    return name


def _listed(page: Page, name: str, then: Seen | None) -> None:
    """Raises HTTPException 404 for no formula of the folder as it is or was."""
    states = (page.desk.look(), then)
    if not any(one and one.sources and name in one.sources.worktable.formulas for one in states):
        raise HTTPException(404, NO_FORMULA)


def _formula(page: Page, name: str) -> Response:
    seen = page.desk.look()
    formula = seen.needed().worktable.formulas.get(name)
    if formula is None:
        raise HTTPException(404, NO_FORMULA)
    told, request = page.desk.stands(name, seen)
    figures = page.figures
    return page.show(
        "formula.html",
        step="have",
        formula=formula,
        at=f"/formula/{quote(name, safe='')}",
        of=state_of(seen.stamp),
        about=about(formula, figures),
        blocks=blocks_of(told, request, figures),
        cost=cost_text(told, request, figures),
        currency=request.currency,
        rules=rule_table(told, figures),
        facts=facts_of(told, request, figures),
    )
