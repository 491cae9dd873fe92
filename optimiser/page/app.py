"""The routes: which address shows what, and which post does what."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount, Route

from optimiser.errors import OptimiserError
from optimiser.page import beginning, having
from optimiser.page.assets import give
from optimiser.page.desk import Desk
from optimiser.page.faults import UNFORESEEN, fault_of
from optimiser.page.guard import ENTER, Guard, Keys, entered
from optimiser.page.later import Later
from optimiser.page.questions import Fault
from optimiser.page.show import Page, to, word
from optimiser.page.work import Work

Handler = Callable[[Request, Exception], Awaitable[Response]]


def make_app(desk: Desk, work: Work, keys: Keys) -> Guard:
    """The whole page, guarded."""
    page = Page(desk, work, keys)
    return Guard(application(page, Later(page)), keys)


def application(page: Page, later: Later) -> Starlette:
    """What stands behind the first page. What I have is here; all other screens are in `screens`."""

    @asynccontextmanager
    async def living(_app: Starlette) -> AsyncIterator[None]:
        yield
        page.work.close()

    return Starlette(
        routes=[
            Route("/static/{name}", give),
            *_entering(page),
            *having.routes(page),
            *beginning.routes(page),
            Mount("", app=later),
        ],
        lifespan=living,
        exception_handlers={
            HTTPException: _http(page),
            OptimiserError: _own(page),
            Exception: _unforeseen(page),
        },
    )


def _entering(page: Page) -> list[Route]:
    async def ask(_request: Request) -> Response:
        return page.show("enter.html", wrong=False) if page.keys.password else to("/")

    async def enter(request: Request) -> Response:
        form = await page.form(request)
        if page.keys.knows(word(form, "password")):
            return entered(page.keys)
        return page.show("enter.html", 403, wrong=True)

    return [Route(ENTER, ask), Route(ENTER, enter, methods=["POST"])]


def _http(page: Page) -> Handler:
    async def handler(request: Request, fault: Exception) -> Response:
        status = fault.status_code if isinstance(fault, HTTPException) else 500
        detail = fault.detail if isinstance(fault, HTTPException) else ""
        what = "There is no such page." if detail in ("Not Found", "") else detail
        return page.fault(request, Fault(what), status)

    return handler


def _own(page: Page) -> Handler:
    async def handler(request: Request, fault: Exception) -> Response:
        told = fault_of(fault) if isinstance(fault, OptimiserError) else Fault(str(fault))
        return page.fault(request, told, 409)

    return handler


def _unforeseen(page: Page) -> Handler:
    async def handler(request: Request, _fault: Exception) -> Response:
        """The folder is not read for it: reading it may be what went wrong."""
        return page.fault(request, UNFORESEEN, 500, folder_name=page.desk.folder.name)

    return handler
