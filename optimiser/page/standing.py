"""One formula as it stands, judged, and the start of a request on it."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.page.show import Page, to
from optimiser.page.views.formula import blocks_of, cost_text, facts_of
from optimiser.page.views.have import about
from optimiser.page.views.rules import rule_table


def routes(page: Page) -> list[Route]:
    async def formula(request: Request) -> Response:
        return await run_in_threadpool(_formula, page, request.path_params["formula"])

    async def change(request: Request) -> Response:
        await page.form(request)
        name = await run_in_threadpool(_known, page, request.path_params["formula"])
        return to(f"/change/{page.drafts.start(name).id}")

    return [
        Route("/formula/{formula}", formula),
        Route("/formula/{formula}/change", change, methods=["POST"]),
    ]


def _known(page: Page, name: str) -> str:
    if name not in page.desk.sources().worktable.formulas:
        raise HTTPException(404, "No formula of this folder is called so.")
    return name


def _formula(page: Page, name: str) -> Response:
    formula = page.desk.sources().worktable.formulas[_known(page, name)]
    told, request = page.desk.stands(name)
    figures = page.figures
    return page.show(
        "formula.html",
        step="have",
        formula=formula,
        about=about(formula, figures),
        blocks=blocks_of(told, request, figures),
        cost=cost_text(told, request, figures),
        currency=request.currency,
        rules=rule_table(told, figures),
        facts=facts_of(told, request, figures),
    )
