"""The notice of files that changed since what is shown, on the screens of a request and of a trial."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from optimiser.loading.differences import differences
from optimiser.page.desk import Seen
from optimiser.page.drafts import Draft
from optimiser.page.show import Page, to, word
from optimiser.page.underneath import Under, chosen, told_of, under_of
from optimiser.page.views.changes import FileShown, files_shown

Listed = Callable[[str, Seen | None], object]
LONGEST = 20
LONGEST_STATE = 40
GONE = "gone"
"""The mark of what was taken away."""
Given = FormData | QueryParams
Carried = Callable[[Given], tuple[tuple[str, str], ...]]
"""The fields that an answer of the screen hangs on besides the request, out of a form or an address."""


def notice_of(page: Page, draft: Draft, states: tuple[Seen, Seen] | None = None) -> Under | None:
    """What changed since the files of the draft, or None; two states are compared once."""
    held, now = states or page.states(draft)
    if held.stamp == now.stamp:
        return None
    key = now.stamp, draft.formula
    if key not in held.news:
        under = under_of(page, draft)
        if under is None or under.stamp != now.stamp:  # changed again meanwhile
            return under
        held.news[key] = under
    found: Under = held.news[key]
    return replace(found, passed=draft.passed == now.stamp)


def notices(page: Page, route: str, carried: Carried = lambda _given: ()) -> list[Route]:
    """The notice of a screen beside the request, and its press, which leads back to this screen."""

    async def look(request: Request) -> Response:
        draft, given = page.draft(request), request.query_params
        told, carry = given.get("told", ""), carried(given)
        return await run_in_threadpool(_part, page, draft, told, _screen(request), carry)

    async def choose(request: Request) -> Response:
        form = await page.form(request)
        draft, tab = page.draft(request), request.headers.get("x-tab", "")[:40]
        await run_in_threadpool(chosen, page, draft, word(form, "way"), word(form, "now"), tab)
        asked = urlencode(carried(form))
        return to(f"{_screen(request)}?{asked}" if asked else _screen(request))

    return [Route(f"{route}/underneath", look), Route(f"{route}/files", choose, methods=["POST"])]


def _screen(request: Request) -> str:
    """The address of the screen that the notice stands on."""
    return quote(request.scope["path"].rpartition("/")[0])


def _part(page: Page, draft: Draft, told: str, at: str, carry: tuple[tuple[str, str], ...]) -> Response:
    """The notice, or nothing where it is there already."""
    under = notice_of(page, draft)
    if told_of(page, draft, under.stamp if under else 0) == told[:LONGEST]:
        return Response(status_code=204)
    values = {"draft": draft, "under": under, "at": at, "carry": carry, "oob": False, "late": True}
    return HTMLResponse(page.text("_underneath.html", **values))


@dataclass(frozen=True, slots=True)
class Beside:
    """What a screen shows besides the worktable: a `mark` of it by the name in the address, GONE where it is
    not there any more; in `words` that it changed, and in `gone` that it was taken away.
    """

    mark: Callable[[str], str] = lambda _name: ""
    words: str = ""
    gone: str = ""


def looks(
    page: Page,
    route: str,
    known: Listed = lambda _name, _then: None,
    beside: Beside = Beside(),
) -> list[Route]:
    """The notice of a screen that shows the folder as it was when the screen was opened.

    `known` raises HTTPException for a name that the folder does not list, now or `then`; what `beside` can
    tell to be gone is told so instead.
    """

    async def look(request: Request) -> Response:
        name, given = request.path_params.get("name", ""), request.query_params
        of, told = (given.get(key, "")[:LONGEST_STATE] for key in ("of", "told"))
        await run_in_threadpool(_known, page, known, name, of, beside)
        return await run_in_threadpool(_since, page, _screen(request), of, told, (name, beside))

    return [Route(f"{route}/underneath", look)]


def _known(page: Page, known: Listed, name: str, of: str, beside: Beside) -> None:
    """Raises HTTPException for what the folder does not list, where a screen cannot have shown it."""
    if not (of and beside.gone and beside.mark(name) == GONE):
        known(name, _then(page, of))


def state_of(stamp: int, mark: str = "") -> str:
    """What a screen shows, in a word: the state of the worktable, and what stands beside that."""
    return f"{stamp}-{mark}" if mark else str(stamp)


def _then(page: Page, of: str) -> Seen | None:
    """The worktable as the screen shows it, where that is held."""
    stamp = of.partition("-")[0]
    return page.desk.seen(int(stamp)) if stamp.isascii() and stamp.isdigit() else None


def _since(page: Page, at: str, of: str, told: str, of_it: tuple[str, Beside]) -> Response:
    """What changed since the state `of`; only that something did where that state is not held any more.

    Nothing where that was `told` already; a notice without words once the files are again as they were.
    """
    now, (name, beside) = page.desk.look(), of_it
    stamp, _, mark = of.partition("-")
    held = _then(page, of)
    same = str(now.stamp) == stamp or (held is not None and held.mark == now.mark)
    here = beside.mark(name)
    state = "" if same and here == mark else state_of(now.stamp, here)
    if state == told:
        return Response(status_code=204)
    files = _files(held, now) if held and not same else ()
    gone = beside.gone if here == GONE else ""
    words = gone or (beside.words if here != mark else "")
    values = {"at": at, "of": of, "state": state, "files": files, "beside": words, "others": not same}
    values["gone"] = bool(gone)
    return HTMLResponse(page.text("_since.html", **values))


def _files(held: Seen, now: Seen) -> tuple[FileShown, ...]:
    key = now.stamp, ""
    if key not in held.news:
        held.news[key] = files_shown(differences(held.files, now.files), past=True)
    found: tuple[FileShown, ...] = held.news[key]
    return found
