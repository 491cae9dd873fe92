"""The table of ingredients looked through, a table taken in, a write taken back; where rows are asked for."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.errors import UsageError
from optimiser.page.addresses import screen_of
from optimiser.page.edits import At, Edit, Edits
from optimiser.page.forming import (
    added,
    at_asked,
    begun,
    blank,
    currency,
    kept_of,
    last_shown,
    mark_of_step,
    one,
    removed,
    typed,
)
from optimiser.page.several import blank_paper, paper_told
from optimiser.page.show import Page, to, whole, word
from optimiser.page.taking import Taken, received
from optimiser.page.views.columns import INGREDIENTS
from optimiser.page.views.fields import fault_shown
from optimiser.page.views.table import ORDERS, Asked, listed
from optimiser.workflows.table import FILE, open_table, take_back

Endpoint = Callable[[Request], Awaitable[Response]]
LONGEST_QUERY = 200
ROWS = "/ingredient/{name}/{table}"


def routes(page: Page, edits: Edits) -> list[Route]:
    def looking(show: Callable[[Page, Edits, Request], Response]) -> Endpoint:
        async def endpoint(request: Request) -> Response:
            return await run_in_threadpool(show, page, edits, request)

        return endpoint

    def posting(begin: Callable[[Page, Edits, At, FormData], Response]) -> Endpoint:
        async def endpoint(request: Request) -> Response:
            form = await page.form(request)
            return await run_in_threadpool(lambda: begin(page, edits, at_asked(request), form))

        return endpoint

    async def send(request: Request) -> Response:
        taken, form = await received(page, request, "ingredients")
        return await run_in_threadpool(_brought, page, edits, taken, form)

    def posts(path: str, begin: Callable[[Page, Edits, At, FormData], Response]) -> Route:
        return Route(path, posting(begin), methods=["POST"])

    return [
        Route("/ingredients", looking(_list)),
        Route("/ingredients/add", looking(blank)),
        posts("/ingredients/add", added),
        Route("/ingredients/bring", looking(_choose)),
        Route("/ingredients/bring", send, methods=["POST"]),
        posts("/ingredients/back", _back),
        posts("/ingredients/again", _again),
        Route("/ingredient/{name}", looking(one)),
        posts("/ingredient/{name}", typed),
        posts("/ingredient/{name}/remove", removed),
        Route("/ingredient/{name}/flags/several", looking(blank_paper)),
        posts("/ingredient/{name}/flags/several", paper_told),
        Route(f"{ROWS}/add", looking(blank)),
        posts(f"{ROWS}/add", added),
        Route(f"{ROWS}/row", looking(one)),
        posts(f"{ROWS}/row", typed),
        posts(f"{ROWS}/remove", removed),
    ]


def _list(page: Page, edits: Edits, request: Request) -> Response:
    asked = _asked(request.query_params)
    table, seen = open_table(page.desk.folder), page.desk.look()
    worktable = seen.sources.worktable if seen.sources else None
    shown = listed(table, worktable, seen.problems, asked, currency(page))
    query = {"q": asked.text, "role": asked.role, "flag": asked.flag, "order": asked.order}
    return page.show(
        "ingredients.html",
        step="have",
        asked=asked,
        shown=shown,
        faults=tuple(map(fault_shown, seen.problems)),
        query=urlencode({name: text for name, text in query.items() if text}),
        last=last_shown(page, edits.history, request),
        kept=kept_of(edits, request),
    )


def _asked(params: Mapping[str, str]) -> Asked:
    text, role, flag = (params.get(name, "").strip()[:LONGEST_QUERY] for name in ("q", "role", "flag"))
    order = params.get("order", "")
    return Asked(text, role, flag, whole(params.get("page", ""), 1), order if order in ORDERS else "")


def _choose(page: Page, edits: Edits, _request: Request) -> Response:
    return page.show(
        "bring.html",
        step="have",
        columns=[one.name for one in INGREDIENTS],
        last=last_shown(page, edits.history),
    )


def _brought(page: Page, edits: Edits, taken: Taken, form: FormData) -> Response:
    table = open_table(page.desk.folder)
    empty_too = word(form, "empty") == "yes"
    return begun(edits, Edit("", "bring", At(), {FILE: table.data}, taken=taken, empty_too=empty_too))


def _back(page: Page, edits: Edits, _at: At, form: FormData) -> Response:
    """Takes the last write back, as it was shown."""
    return _step(page, edits, form, back=True)


def _again(page: Page, edits: Edits, _at: At, form: FormData) -> Response:
    """Writes again what was taken back last, as it was shown."""
    return _step(page, edits, form, back=False)


def _step(page: Page, edits: Edits, form: FormData, *, back: bool) -> Response:
    """Raises UsageError where another was written since."""
    with edits.writing:
        plans = edits.history.done if back else edits.history.undone
        last = plans[-1] if plans else None
        if last is None or last.digest != word(form, "which"):
            raise UsageError("something else was written last", "look at the table as it is now")
        take_back(page.desk.folder, last if back else last.back(), page.desk.look().problems)
        edits.history.step(back=back)
    name = word(form, "from")
    there = bool(name) and open_table(page.desk.folder).row(name) is not None
    return to(
        f"{screen_of(name) if there else '/ingredients'}?{'back' if back else 'again'}={mark_of_step(last)}"
    )
