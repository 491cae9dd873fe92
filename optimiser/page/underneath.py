"""Files that change while a request is open: named, with what changed, to take up or to leave."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from optimiser.errors import UsageError
from optimiser.loading.differences import differences
from optimiser.page.desk import Seen
from optimiser.page.drafts import Draft
from optimiser.page.show import Page, to, word
from optimiser.page.views.changes import FileShown, files_shown

LONGEST_STAMP = 20
LOST = "lost"
"""Told instead of a stamp where the files of the draft were no longer held."""


@dataclass(frozen=True, slots=True)
class Under:
    """What changed since the files of the draft. `stamp` is that of the folder as it is; `hindrance` says why
    it cannot be taken up; `passed`: the maker stays with the files as they were.
    """

    stamp: int
    files: tuple[FileShown, ...]
    hindrance: str
    passed: bool


def routes(page: Page) -> list[Route]:
    async def look(request: Request) -> Response:
        draft = page.draft(request)
        return await run_in_threadpool(_part, page, draft, request.query_params.get("told", ""))

    async def choose(request: Request) -> Response:
        form = await page.form(request)
        draft = page.draft(request)
        tab = request.headers.get("x-tab", "")[:40]
        await run_in_threadpool(chosen, page, draft, word(form, "way"), word(form, "now"), tab)
        return to(f"/change/{draft.id}")

    return [
        Route("/change/{draft}/underneath", look),
        Route("/change/{draft}/files", choose, methods=["POST"]),
    ]


def under_of(page: Page, draft: Draft) -> Under | None:
    """None while the draft is worked on the folder as it is."""
    states = _newer(page, draft)
    if states is None:
        return None
    held, now = states
    hindrance = ""
    if now.sources is None:
        count = len(now.problems)
        hindrance = f"{count} fault{'' if count == 1 else 's'} in the files must be mended before."
    elif draft.formula not in now.sources.worktable.formulas:
        hindrance = "The formula of this request is not among them any more."
    files = files_shown(differences(held.files, now.files), past=True)
    return Under(now.stamp, files, hindrance, draft.passed == now.stamp)


def _newer(page: Page, draft: Draft) -> tuple[Seen, Seen] | None:
    """The folder as the draft has it and as it is; None while they are the same."""
    held, now = page.states(draft)
    return None if held.stamp == now.stamp else (held, now)


def _part(page: Page, draft: Draft, told: str) -> Response:
    """The notice, or nothing where it is there already: then no file is compared with what it was."""
    states = _newer(page, draft)
    if told_of(page, draft, states[1].stamp if states else 0) == told[:LONGEST_STAMP]:
        return Response(status_code=204)
    under = under_of(page, draft)
    return HTMLResponse(page.text("_underneath.html", draft=draft, under=under, oob=False, late=True))


def told_of(page: Page, draft: Draft, stamp: int) -> str:
    """What the notice there is says, in a word: the stamp of newer files (0 for none), or `LOST`."""
    return str(stamp) if stamp else LOST if page.drafts.is_lost(draft.id) else ""


def chosen(page: Page, draft: Draft, way: str, now: str, tab: str) -> None:
    """Raises UsageError for files that cannot be taken up; files that changed again are shown first."""
    under = under_of(page, draft)
    if under is None or str(under.stamp) != now:
        return
    if way == "stay":
        page.drafts.stay(draft.id, under.stamp)
    elif under.hindrance:
        raise UsageError("the changed files cannot be taken up yet", under.hindrance)
    else:
        page.drafts.take_up(draft.id, under.stamp, tab)
