"""A change to the table before it is written: with its faults, beside what stands, against what changed."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.loading.differences import differences
from optimiser.page import tabling
from optimiser.page.edits import At, Edit, Edits
from optimiser.page.forming import form_page, last_shown, plain_cells
from optimiser.page.several import paper_page
from optimiser.page.show import Page, to, word
from optimiser.page.views.changes import files_shown
from optimiser.page.views.columns import LABELS
from optimiser.page.views.fields import fault_shown
from optimiser.page.views.table import uses
from optimiser.problems import Problem
from optimiser.workflows.table import (
    ChangedMeanwhileError,
    Plan,
    digest_of,
    open_table,
    plan,
    table_of,
    write,
)
from optimiser.workflows.table_import import bring


@dataclass(frozen=True, slots=True)
class Thought:
    """An edit thought through: its plan, what is wrong, and how many rows of a table sent say nothing new."""

    plan: Plan
    problems: tuple[Problem, ...]
    same: int = 0


def routes(page: Page) -> list[Route]:
    edits = Edits()

    async def show(request: Request) -> Response:
        edit = edits.get(request.path_params["edit"])
        return await run_in_threadpool(_shown, page, edits, edit)

    async def fields(request: Request) -> Response:
        edit = edits.get(request.path_params["edit"])
        return await run_in_threadpool(_fields, page, edits, edit)

    async def put(request: Request) -> Response:
        form = await page.form(request)
        return await run_in_threadpool(_put, page, edits, request.path_params["edit"], word(form, "shown"))

    async def mine(request: Request) -> Response:
        form = await page.form(request)
        edit = edits.get(request.path_params["edit"])
        return await run_in_threadpool(_mine, page, edits, edit, word(form, "now"))

    async def theirs(request: Request) -> Response:
        await page.form(request)
        edit = edits.get(request.path_params["edit"])
        return await run_in_threadpool(_theirs, page, edit)

    return [
        *tabling.routes(page, edits),
        Route("/edit/{edit}", show),
        Route("/edit/{edit}", put, methods=["POST"]),
        Route("/edit/{edit}/fields", fields),
        Route("/edit/{edit}/mine", mine, methods=["POST"]),
        Route("/edit/{edit}/theirs", theirs, methods=["POST"]),
    ]


def _think(page: Page, edit: Edit) -> Thought:
    folder, standing = page.desk.folder, page.desk.look().problems
    if edit.taken is None:
        planned = plan(folder, edit.wishes, standing, edit.at.described)
        return Thought(planned, planned.problems)
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / edit.taken.name
        path.write_bytes(edit.taken.content)
        found = bring(folder, path, empty_too=edit.empty_too, standing=standing)
    return Thought(found.plan, found.problems, found.same)


def _now(page: Page, edit: Edit) -> dict[str, bytes | None]:
    """The files of the edit as they are."""
    paths = {name: page.desk.folder / name for name in edit.base}
    return {name: path.read_bytes() if path.is_file() else None for name, path in paths.items()}


def _shown(page: Page, edits: Edits, edit: Edit) -> Response:
    if edit.written:
        more = replace(edit.at, row="").address if len(edit.at.described.keys) > 1 else ""
        last = last_shown(page, edits.history)
        return page.show("edit.html", step="have", edit=edit, last=last, title=_title(edit), more=more)
    now = _now(page, edit)
    if now != dict(edit.base):
        return _conflict(page, edit, now)
    thought = _think(page, edit)
    files = {one.name: one.before for one in thought.plan.files}
    if files.get(edit.at.file, now[edit.at.file]) != now[edit.at.file]:
        return _conflict(page, edit, _now(page, edit))
    if thought.problems:
        return _refused(page, edits, edit, thought)
    whole = replace(edit, base={**files, **edit.base})
    if not edits.swap(edit, whole):
        return to(f"/edit/{edit.id}")
    return page.show(
        "preview.html",
        step="have",
        edit=edit,
        title=_title(edit),
        files=files_shown(thought.plan.changes),
        same=thought.same,
        shown=thought.plan.digest,
        standing=tuple(map(fault_shown, thought.plan.standing)),
    )


def _title(edit: Edit) -> str:
    if edit.taken:
        return edit.taken.name
    if edit.kind == "several":
        return f"{edit.at.owner} · {len(edit.wishes)} flag{'' if len(edit.wishes) == 1 else 's'}"
    if edit.at.owner:
        about = (edit.typed.get(key, "") for key in edit.at.described.keys[1:] or ("stage",))
        return " · ".join((edit.at.owner, *filter(None, about)))
    return edit.typed.get("name", "") or edit.typed.get("id", "") or edit.at.row


def _refused(page: Page, edits: Edits, edit: Edit, thought: Thought) -> Response:
    """What is wrong: at the fields of a row, else as a list; nothing can be written."""
    if edit.kind in ("edit", "add", "several"):
        return _with_faults(page, edits, edit, thought)
    seen = page.desk.look()
    removes = edit.kind == "remove" and not edit.at.owner
    used = uses(seen.sources.worktable, edit.at.row, page.figures) if seen.sources and removes else ()
    return page.show(
        "refused.html",
        409,
        step="have",
        edit=edit,
        title=_title(edit),
        used=used,
        faults=tuple(map(fault_shown, thought.problems)),
        files=files_shown(thought.plan.changes),
        same=thought.same,
    )


def _with_faults(page: Page, edits: Edits, edit: Edit, thought: Thought) -> Response:
    lines = thought.plan.wished
    everything = (*thought.problems, *thought.plan.standing)
    own = [one for one in everything if one.file == edit.at.file and one.line in lines]
    rest = [one for one in thought.problems if one not in own]
    return _form(page, edits, edit, problems=own, elsewhere=rest, status=409)


def _form(
    page: Page,
    edits: Edits,
    edit: Edit,
    *,
    problems: Iterable[Problem] = (),
    elsewhere: Iterable[Problem] = (),
    status: int = 200,
) -> Response:
    """The form of the edit with what was typed in it."""
    at, texts, wrong, rest = edit.at, edit.typed, tuple(problems), tuple(elsewhere)
    if edit.kind == "several":
        return paper_page(page, edits, at.owner, texts, problems=wrong, elsewhere=rest, status=status)
    table = open_table(page.desk.folder, at.described)
    return form_page(page, edits, at, table, texts, problems=wrong, elsewhere=rest, status=status)


def _fields(page: Page, edits: Edits, edit: Edit) -> Response:
    """The row as typed, to go on with; where the file changed underneath, that is shown first."""
    if edit.written or edit.kind not in ("edit", "add", "several"):
        return to(edit.home)
    if edit.kind == "edit" and _now(page, edit) != dict(edit.base):
        return to(f"/edit/{edit.id}")
    return _form(page, edits, edit)


def _put(page: Page, edits: Edits, name: str, shown: str) -> Response:
    """Writes what was shown, and only that, once; anything else is shown first."""
    with edits.writing:
        edit = edits.get(name)
        if edit.written or _now(page, edit) != dict(edit.base):
            return to(f"/edit/{edit.id}")
        thought = _think(page, edit)
        if thought.problems or thought.plan.digest != shown or not thought.plan.files:
            return to(f"/edit/{edit.id}")
        with suppress(ChangedMeanwhileError):
            write(page.desk.folder, thought.plan)
            edits.written(edit, thought.plan)
    return to(f"/edit/{edit.id}")


def _conflict(page: Page, edit: Edit, now: Mapping[str, bytes | None]) -> Response:
    """What changed underneath, file by file and cell by cell, and both ways on."""
    return page.show(
        "underneath.html",
        409,
        step="have",
        edit=edit,
        title=_title(edit),
        files=files_shown(differences(_there(edit.base), _there(now)), past=True),
        cells=_three_ways(edit, now),
        now=_digest(now),
    )


def _there(files: Mapping[str, bytes | None]) -> dict[str, bytes]:
    return {name: data for name, data in files.items() if data is not None}


def _three_ways(edit: Edit, now: Mapping[str, bytes | None]) -> tuple[tuple[str, str, str, str], ...] | None:
    """(column, as shown, as it is now, as typed) where something was typed; None where the row is gone."""
    if edit.kind != "edit":
        return ()
    theirs = _row(edit, now)
    if theirs is None:
        return None
    return tuple(
        (LABELS[edit.at.file].get(column, column), edit.was.get(column, ""), theirs.get(column, ""), text)
        for column, text in edit.mine.items()
    )


def _row(edit: Edit, now: Mapping[str, bytes | None]) -> dict[str, str] | None:
    data = now.get(edit.at.file)
    table = None if data is None else table_of(data, edit.at.described)
    row = table.row(edit.at.row) if table else None
    return plain_cells(table.sheet.cells(row)) if table and row else None


def _digest(files: Mapping[str, bytes | None]) -> str:
    marks = (f"{name}:{'' if data is None else digest_of(data)}" for name, data in sorted(files.items()))
    return digest_of("\n".join(marks).encode())


def _mine(page: Page, edits: Edits, edit: Edit, seen: str) -> Response:
    """What was typed, on top of the files as they were shown beside it; all else stays theirs."""
    now = _now(page, edit)
    if _digest(now) == seen and not edit.written:
        moved = replace(edit, base={edit.at.file: now[edit.at.file]})
        if edit.kind == "edit":
            theirs = _row(edit, now)
            if theirs is None:
                moved = replace(moved, kind="add", at=replace(edit.at, row=""))
            else:
                moved = replace(moved, was=theirs, typed={**edit.typed, **theirs, **edit.mine})
        edits.swap(edit, moved)
    return to(f"/edit/{edit.id}")


def _theirs(page: Page, edit: Edit) -> Response:
    """To what stands in the file; what was typed is kept and can be gone back to."""
    there = edit.kind in ("edit", "remove") and _row(edit, _now(page, edit)) is not None
    address = edit.at.address if there else At(owner=edit.at.owner).home
    return to(f"{address}{'&' if '?' in address else '?'}kept={edit.id}")
