"""The table of ingredients: looked through, one ingredient with every column, a change or a table begun."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable, Mapping
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.errors import UsageError
from optimiser.loading.reference import load_vocabulary
from optimiser.page.edits import Edit, Edits
from optimiser.page.show import Page, to, whole, word
from optimiser.page.taking import Taken, received
from optimiser.page.views.changes import files_shown
from optimiser.page.views.table import NAMES, Asked, fault_shown, fields, listed, told_of
from optimiser.problems import Problem
from optimiser.workflows.table import FILE, TableFile, open_table, table_of, take_back

Endpoint = Callable[[Request], Awaitable[Response]]
LONGEST_QUERY = 200


def routes(page: Page, edits: Edits) -> list[Route]:
    def looking(show: Callable[[Page, Edits, Request], Response]) -> Endpoint:
        async def endpoint(request: Request) -> Response:
            return await run_in_threadpool(show, page, edits, request)

        return endpoint

    def posting(
        begin: Callable[[Page, Edits, str, FormData], Response],
    ) -> Endpoint:
        async def endpoint(request: Request) -> Response:
            form = await page.form(request)
            return await run_in_threadpool(begin, page, edits, request.path_params.get("name", ""), form)

        return endpoint

    async def send(request: Request) -> Response:
        taken, form = await received(page, request, "ingredients")
        return await run_in_threadpool(_brought, page, edits, taken, form)

    return [
        Route("/ingredients", looking(_list)),
        Route("/ingredients/add", looking(_blank)),
        Route("/ingredients/add", posting(_added), methods=["POST"]),
        Route("/ingredients/bring", looking(_choose)),
        Route("/ingredients/bring", send, methods=["POST"]),
        Route("/ingredients/back", posting(_back), methods=["POST"]),
        Route("/ingredient/{name}", looking(_one)),
        Route("/ingredient/{name}", posting(_typed), methods=["POST"]),
        Route("/ingredient/{name}/remove", posting(_removed), methods=["POST"]),
    ]


def _list(page: Page, edits: Edits, request: Request) -> Response:
    asked = _asked(request.query_params)
    table, seen = open_table(page.desk.folder), page.desk.look()
    worktable = seen.sources.worktable if seen.sources else None
    shown = listed(table, worktable, seen.problems, asked, currency(page))
    query = {"q": asked.text, "role": asked.role, "flag": asked.flag}
    return page.show(
        "ingredients.html",
        step="have",
        asked=asked,
        shown=shown,
        faults=tuple(map(fault_shown, seen.problems)),
        query=urlencode({name: text for name, text in query.items() if text}),
        last=last_shown(edits),
        back="back" in request.query_params,
        kept=_kept(edits, request),
    )


def _asked(params: Mapping[str, str]) -> Asked:
    text, role, flag = (params.get(name, "").strip()[:LONGEST_QUERY] for name in ("q", "role", "flag"))
    return Asked(text, role, flag, whole(params.get("page", ""), 1))


def currency(page: Page) -> str:
    seen = page.desk.look()
    return seen.sources.worktable.settings.currency if seen.sources else ""


def last_shown(edits: Edits) -> dict[str, object] | None:
    """What was written last, ready to be taken back."""
    last = edits.last
    if last is None:
        return None
    return {"digest": last.digest, "files": files_shown(last.changes, past=True)}


def _kept(edits: Edits, request: Request) -> Edit | None:
    """The change that was set aside for what stands in the file, where the address names one."""
    name = request.query_params.get("kept", "")
    try:
        return edits.get(name) if name else None
    except HTTPException:
        return None


def _blank(page: Page, edits: Edits, _request: Request) -> Response:
    return form_page(page, edits, open_table(page.desk.folder), "", {})


def _one(page: Page, edits: Edits, request: Request) -> Response:
    table = open_table(page.desk.folder)
    name = known(table, request.path_params["name"])
    row = table.row(name)
    assert row is not None  # noqa: S101
    problems = [one for one in page.desk.look().problems if one.file == FILE and one.line == row.line]
    cells = table.sheet.cells(row)
    return form_page(page, edits, table, name, cells, problems=problems, kept=_kept(edits, request))


def known(table: TableFile, name: str) -> str:
    """Raises HTTPException 404 for a name that no row has."""
    if table.row(name) is None:
        raise HTTPException(404, "No ingredient of the table is called so.")
    return name


def form_page(
    page: Page,
    edits: Edits,
    table: TableFile,
    name: str,
    texts: Mapping[str, str],
    *,
    problems: Iterable[Problem] = (),
    elsewhere: Iterable[Problem] = (),
    status: int = 200,
    kept: Edit | None = None,
    late: bool = False,
) -> Response:
    """The row with every column labelled; `problems` stand at their fields, those `elsewhere` above."""
    seen = page.desk.look()
    told = told_of(seen.sources.worktable, name, page.figures) if seen.sources and name else None
    row = table.row(name)
    at_fields = [one for one in problems if one.cell in NAMES]
    rest = [*elsewhere, *(one for one in problems if one.cell not in NAMES)]
    return page.show(
        "ingredient.html",
        status,
        step="have",
        name=name,
        title=texts.get("name", "") or name,
        line=row.line if row else None,
        fields=fields(
            texts, load_vocabulary(), currency(page), at_fields, table.sheet.cells(row) if row else None
        ),
        faults=tuple(map(fault_shown, rest)),
        wrong=len(at_fields) + len(rest),
        seen=edits.shown(table.data),
        roles=load_vocabulary().roles,
        told=told,
        last=last_shown(edits),
        kept=kept,
        late=late,
    )


def _typed(page: Page, edits: Edits, name: str, form: FormData) -> Response:
    """The row as typed, against the table as it was when its form was shown."""
    typed = _cells(form)
    data = edits.version(word(form, "seen"))
    if data is None:
        table = open_table(page.desk.folder)
        return form_page(page, edits, table, known(table, name), typed, status=409, late=True)
    shown = table_of(data)
    row = shown.row(name) if shown else None
    if shown is None or row is None:
        raise HTTPException(404, "No ingredient of the table is called so.")
    was = plain_cells(shown.sheet.cells(row))
    return to(f"/edit/{edits.start(Edit('', 'edit', name, {FILE: data}, typed, was)).id}")


def _added(page: Page, edits: Edits, _name: str, form: FormData) -> Response:
    table = open_table(page.desk.folder)
    return to(f"/edit/{edits.start(Edit('', 'add', '', {FILE: table.data}, _cells(form))).id}")


def _removed(page: Page, edits: Edits, name: str, _form: FormData) -> Response:
    table = open_table(page.desk.folder)
    row = table.row(known(table, name))
    cells = table.sheet.cells(row) if row else {}
    return to(f"/edit/{edits.start(Edit('', 'remove', name, {FILE: table.data}, cells)).id}")


def _cells(form: FormData) -> dict[str, str]:
    return plain_cells({name: word(form, name) for name in NAMES})


def plain_cells(cells: Mapping[str, str]) -> dict[str, str]:
    """Cells with line ends of one sort; a form cannot tell them apart."""
    return {name: text.replace("\r\n", "\n").replace("\r", "\n").strip() for name, text in cells.items()}


def _choose(page: Page, edits: Edits, _request: Request) -> Response:
    return page.show("bring.html", step="have", columns=NAMES, last=last_shown(edits))


def _brought(page: Page, edits: Edits, taken: Taken, form: FormData) -> Response:
    table = open_table(page.desk.folder)
    empty_too = word(form, "empty") == "yes"
    edit = Edit("", "bring", "", {FILE: table.data}, taken=taken, empty_too=empty_too)
    return to(f"/edit/{edits.start(edit).id}")


def _back(page: Page, edits: Edits, _name: str, form: FormData) -> Response:
    """Takes the last write back, as it was shown. Raises UsageError where another was written since."""
    last = edits.last
    if last is None or last.digest != word(form, "which"):
        raise UsageError("something else was written last", "look at the table as it is now")
    edits.last = take_back(page.desk.folder, last, page.desk.look().problems)
    return to("/ingredients?back=yes")
