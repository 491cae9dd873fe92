"""Why the proposal of a draft is as it is, and what the next step of each limit costs."""

from __future__ import annotations

from dataclasses import replace

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.domain.why import Why
from optimiser.page.drafts import Draft
from optimiser.page.jobs import Job
from optimiser.page.kinds import Reasons
from optimiser.page.notices import notice_of, notices
from optimiser.page.questions import Question
from optimiser.page.show import Page, is_fragment
from optimiser.page.views.lists import lists_of
from optimiser.page.views.reasons import named, own_of, why_of
from optimiser.page.waiting import presses, waited

ROUTE = "/change/{draft}/why"


def routes(page: Page) -> list[Route]:
    async def show(request: Request) -> Response:
        draft = page.draft(request)
        question = await run_in_threadpool(_question, page, draft)
        stopped = "stopped" in request.query_params
        job = page.work.known(question) if stopped else page.ask(question, f"{draft.id} why")
        if job is not None:
            await waited(job, request)
        return await run_in_threadpool(_shown, page, draft, job, is_fragment(request))

    def asked(request: Request, _form: FormData) -> tuple[Question, str]:
        draft = page.draft(request)
        return _question(page, draft), f"/change/{draft.id}/why"

    return [Route(ROUTE, show), *presses(page, ROUTE, asked), *notices(page, ROUTE)]


def _question(page: Page, draft: Draft) -> Question:
    return Question(draft.formula, replace(draft.asking, alternatives=0), page.seen(draft).stamp, "why")


def _shown(page: Page, draft: Draft, job: Job | None, fragment: bool) -> Response:
    reasons = job.outcome if job is not None and isinstance(job.outcome, Reasons) else None
    found = reasons.found if reasons is not None and isinstance(reasons.found, Why) else None
    return page.show(
        "_why.html" if fragment else "why.html",
        step="make",
        draft=draft,
        job=job,
        plain=reasons is not None and found is None,
        lists=tuple(lists_of(one, reasons.request, page.figures) for one in reasons.lists) if reasons else (),
        choices=named(page.sources(draft).worktable.ingredients.values()),
        own=own_of(found) if found else (),
        shown=why_of(found, page.figures) if found else None,
        formula=page.sources(draft).worktable.formulas.get(draft.formula),
        at=f"/change/{draft.id}/why",
        under=notice_of(page, draft),
    )
