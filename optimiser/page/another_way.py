"""And without this line, or with another in its place? The forced answer beside the free one."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.page.drafts import Draft
from optimiser.page.jobs import Job
from optimiser.page.kinds import Other
from optimiser.page.notices import Given, notice_of, notices
from optimiser.page.questions import Question
from optimiser.page.show import Page, is_fragment
from optimiser.page.views.another import another_of
from optimiser.page.waiting import presses, waited

ROUTE = "/change/{draft}/why/another"
Pair = tuple[str, str]


def routes(page: Page) -> list[Route]:
    async def show(request: Request) -> Response:
        draft = page.draft(request)
        pair = _pair(request.query_params)
        question = await run_in_threadpool(_question, page, draft, pair)
        stopped = "stopped" in request.query_params
        job = page.work.known(question) if stopped else page.ask(question, f"{draft.id} another")
        if job is not None:
            await waited(job, request)
        return await run_in_threadpool(_shown, page, draft, pair, job, is_fragment(request))

    def asked(request: Request, form: FormData) -> tuple[Question, str]:
        pair, draft = _pair(form), page.draft(request)
        return _question(page, draft, pair), f"/change/{draft.id}/why/another?{_query(pair)}"

    return [Route(ROUTE, show), *presses(page, ROUTE, asked), *notices(page, ROUTE, _carried)]


def _pair(given: object) -> Pair:
    get = getattr(given, "get")  # noqa: B009  # query parameters and forms alike
    return str(get("without") or ""), str(get("use") or "")


def _fields(pair: Pair) -> tuple[tuple[str, str], ...]:
    return ("without", pair[0]), ("use", pair[1])


def _carried(given: Given) -> tuple[tuple[str, str], ...]:
    return _fields(_pair(given))


def _query(pair: Pair) -> str:
    return urlencode({"without": pair[0], "use": pair[1]})


def _question(page: Page, draft: Draft, pair: Pair) -> Question:
    """Only names of the table are asked for."""
    known = page.sources(draft).worktable.ingredients
    if pair[0] not in known or (pair[1] and pair[1] not in known):
        raise HTTPException(404, "The folder has no such ingredient.")
    asking = replace(draft.asking, alternatives=0)
    return Question(draft.formula, asking, page.seen(draft).stamp, "another", pair)


def _shown(page: Page, draft: Draft, pair: Pair, job: Job | None, fragment: bool) -> Response:
    known = page.sources(draft).worktable.ingredients
    gone, come = (known[name].name if name in known else "" for name in pair)
    found = job.outcome if job is not None and isinstance(job.outcome, Other) else None
    at = f"/change/{draft.id}/why/another"
    return page.show(
        "_another.html" if fragment else "another.html",
        step="make",
        draft=draft,
        job=job,
        asked=f"And with {come} instead of {gone}?" if come else f"And without {gone}?",
        shown=another_of(found, page.figures) if found else None,
        at=at,
        again=f"{at}?{_query(pair)}",
        fields=_fields(pair),
        carry=_fields(pair),
        under=notice_of(page, draft),
    )
