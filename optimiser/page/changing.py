"""What must change and what I would make: one draft, its answer, and everything that can be pressed."""

from __future__ import annotations

from dataclasses import replace

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from optimiser.domain.moved import LINE, Moved
from optimiser.domain.outcome import Concession, Impossible, Proposals, Undecided
from optimiser.domain.request import Request as Closed
from optimiser.errors import OptimiserError, UsageError
from optimiser.page.answering import answer_of
from optimiser.page.drafts import Asking, Draft, Stale
from optimiser.page.jobs import Job
from optimiser.page.limiting import NO_SHARE, LimitRefused, is_share, moved_of, no_share, typed_of
from optimiser.page.notices import notice_of
from optimiser.page.questions import Question
from optimiser.page.saying import said_in
from optimiser.page.show import Page, is_fragment, to, whole, word
from optimiser.page.views.answer import presses_of
from optimiser.page.views.asks import asks_of, marked, said_of
from optimiser.page.views.figures import Figures
from optimiser.page.waiting import LONGEST_WAIT, SOON, until
from optimiser.workflows.ask import ask
from optimiser.workflows.moving import moves_of
from optimiser.workflows.propose import request_for
from optimiser.workflows.save import save_proposals


def routes(page: Page) -> list[Route]:
    return [*_looking(page), *_working(page), *_asking(page)]


def _looking(page: Page) -> list[Route]:
    """The draft and its answer: shown, waited for, kept."""

    async def show(request: Request) -> Response:
        draft = page.draft(request)
        return await _whole(page, draft, start="stopped" not in request.query_params)

    async def answer(request: Request) -> Response:
        draft = page.draft(request)
        job = await run_in_threadpool(_job, page, draft)
        seen = request.query_params.get("seen", "")
        if job is not None:
            await until(job, LONGEST_WAIT, whole(seen, -1))
        response = await run_in_threadpool(_current, page, draft, job, waited=True)
        if job is not None and job.took:
            response.headers["server-timing"] = f"solve;dur={1000 * job.took:.0f}"
        return response

    async def save(request: Request) -> Response:
        form = await page.form(request)
        draft = page.draft(request)
        if draft.revision != _revision(form):
            return await _stale(page, request, draft, draft.asking)
        name = await run_in_threadpool(_saved, page, draft, word(form, "which"))
        return to(f"/proposal/{name}")

    return [
        Route("/change/{draft}", show),
        Route("/change/{draft}/answer", answer),
        Route("/change/{draft}/save", save, methods=["POST"]),
    ]


def _working(page: Page) -> list[Route]:
    """The answer stopped, or asked for anew where the work on it broke off."""

    async def stop(request: Request) -> Response:
        await page.form(request)
        draft = page.draft(request)
        job = await run_in_threadpool(_job, page, draft, start=False)
        if job is not None:
            await run_in_threadpool(page.work.stop, job)
        if is_fragment(request):
            return await run_in_threadpool(_part, page, draft, job)
        return to(f"/change/{draft.id}?stopped=1")

    async def again(request: Request) -> Response:
        await page.form(request)
        draft = page.draft(request)
        page.work.forget(await run_in_threadpool(_question, page, draft))
        if not is_fragment(request):
            return to(f"/change/{draft.id}")
        return await _begun(page, draft)

    return [
        Route("/change/{draft}/stop", stop, methods=["POST"]),
        Route("/change/{draft}/again", again, methods=["POST"]),
    ]


def _asking(page: Page) -> list[Route]:
    """Everything that changes what is asked; each has the draft's revision in its form."""

    async def say(request: Request) -> Response:
        form = await page.form(request)
        draft = page.draft(request)
        return await _changed(page, request, form, await run_in_threadpool(said_in, page, draft, form))

    async def limit(request: Request) -> Response:
        form = await page.form(request)
        draft = page.draft(request)
        try:
            asking, alone = await run_in_threadpool(_limited, page, draft, form)
        except LimitRefused as refused:
            return await run_in_threadpool(_refused, page, request, draft, refused)
        return await _changed(page, request, form, asking, only_answer=alone)

    async def step(request: Request) -> Response:
        form = await page.form(request)
        draft = page.draft(request)
        go = page.drafts.undo if word(form, "way") == "back" else page.drafts.redo
        try:
            draft = go(draft.id, _revision(form), _tab(request))
        except Stale as stale:
            return await _stale(page, request, stale.draft, draft.asking)
        return await _whole(page, draft, fragment=is_fragment(request))

    async def cure(request: Request) -> Response:
        form = await page.form(request)
        draft = page.draft(request)
        asking = await run_in_threadpool(_cured, page, draft, word(form, "cure"), word(form, "press"))
        return await _changed(page, request, form, asking)

    return [
        Route("/change/{draft}/say", say, methods=["POST"]),
        Route("/change/{draft}/limit", limit, methods=["POST"]),
        Route("/change/{draft}/step", step, methods=["POST"]),
        Route("/change/{draft}/cure", cure, methods=["POST"]),
    ]


async def _changed(
    page: Page, request: Request, form: FormData, asking: Asking, *, only_answer: bool = False
) -> Response:
    """The draft moved on; a fragment where one was asked for, else the whole page anew."""
    draft = page.draft(request)
    try:
        stepped = word(form, "rule") if word(form, "stepped") else ""
        draft = page.drafts.change(draft.id, asking, _revision(form), _tab(request), stepped)
    except Stale as stale:
        return await _stale(page, request, stale.draft, asking)
    if not is_fragment(request):
        return to(f"/change/{draft.id}")
    if not only_answer:
        whole_of_it = await _whole(page, draft, fragment=True)
        whole_of_it.headers["hx-retarget"] = "#work"
        return whole_of_it
    return await _begun(page, draft)


async def _begun(page: Page, draft: Draft) -> Response:
    """The answer as a part of the page, where it comes soon, else that it is under way."""
    job = await run_in_threadpool(_job, page, draft)
    if job is not None:
        await until(job, SOON)
    return await run_in_threadpool(_current, page, draft, job)


def _current(page: Page, draft: Draft, job: Job | None, *, waited: bool = False) -> Response:
    """The answer to what is asked by now: a late answer to an earlier step never takes its place.

    One that was only `waited` for leaves notices alone: they speak of what was pressed meanwhile.
    """
    now = page.drafts.get(draft.id) or draft
    if now.revision != draft.revision:
        return _part(page, now, _job(page, now), waited=waited)
    return _part(page, draft, job, waited=waited)


async def _stale(page: Page, request: Request, now: Draft, mine: Asking) -> Response:
    """Two tabs: nothing is overwritten; both askings are shown, and either can be taken."""
    sources = await run_in_threadpool(page.sources, now)
    mine_draft = page.drafts.start(now.formula, mine, now.stamp)
    values = {
        "draft": now,
        "mine": mine_draft,
        "now_said": said_of(now.asking, sources, page.figures),
        "mine_said": said_of(mine, sources, page.figures),
    }
    if is_fragment(request):
        return page.notice("_both.html", 409, **values)
    return page.show("stale.html", 409, step="change", **values)


async def _whole(page: Page, draft: Draft, *, fragment: bool = False, start: bool = True) -> Response:
    job = await run_in_threadpool(_job, page, draft, start=start)
    if job is not None:
        await until(job, SOON)
    return await run_in_threadpool(_written, page, draft, job, fragment)


def _job(page: Page, draft: Draft, *, start: bool = True) -> Job | None:
    """The answer under way; None while nothing is asked. Without `start` only one that is there already."""
    if draft.asking.empty:
        return None
    question = _question(page, draft)
    return page.ask(question, draft.id) if start else page.work.known(question)


def _question(page: Page, draft: Draft) -> Question:
    return Question(draft.formula, draft.asking, page.seen(draft).stamp)


def _part(page: Page, draft: Draft, job: Job | None, *, waited: bool = False) -> Response:
    """The answer, with the revision and what was said beside it, for pages that are there already.

    Whoever moves limits waits for this, so the folder is looked at once in it.
    """
    states = page.states(draft)
    sources = states[0].needed()
    settings = sources.worktable.settings
    figures = Figures(settings.decimal)
    return HTMLResponse(
        page.text(
            "_answer_part.html",
            draft=draft,
            job=job,
            answer=answer_of(job, figures),
            said=said_of(draft.asking, sources, figures),
            currency=settings.currency,
            under=notice_of(page, draft, states),
            waited=waited,
            folder_name=settings.name,
        )
    )


def _written(
    page: Page, draft: Draft, job: Job | None, fragment: bool, refused: LimitRefused | None = None
) -> Response:
    """The whole screen; a limit that was `refused` stands in its fields as it was typed, and marked."""
    sources = page.sources(draft)
    if draft.formula not in sources.worktable.formulas:
        raise HTTPException(404, "The formula of this request is not in the folder any more.")
    told, standing = page.desk.stands(draft.formula, page.seen(draft))
    request = _closed(page, draft, job, standing)
    settings = sources.worktable.settings
    figures = Figures(settings.decimal)
    asks = asks_of(draft.asking, request, told.verdicts, sources, figures)
    if refused is not None:
        asks = marked(asks, *refused.typed)
    return page.show(
        "_work.html" if fragment else "change.html",
        409 if refused else 200,
        step="change",
        draft=draft,
        job=job,
        formula=sources.worktable.formulas[draft.formula],
        asks=asks,
        refused=refused,
        said=said_of(draft.asking, sources, figures),
        answer=answer_of(job, figures),
        currency=settings.currency,
        under=notice_of(page, draft),
        fragment=fragment,
    )


def _closed(page: Page, draft: Draft, job: Job | None, standing: Closed) -> Closed:
    """The request as asked, for its limits: the answer's own once it is there, the base's own where nothing
    is asked or it cannot be asked so."""
    if job is None:
        return standing
    if isinstance(job.outcome, Proposals | Impossible | Undecided):
        return job.outcome.request
    try:
        sources = page.sources(draft)
        return request_for(sources, ask(sources, draft.formula, draft.asking.said))
    except OptimiserError:
        return standing


def _limited(page: Page, draft: Draft, form: FormData) -> tuple[Asking, bool]:
    """What the draft asks with the limit as typed, and whether the answer alone is new then.

    More is new where the files are others by now, or where all was asked for. Raises LimitRefused.
    """
    seen = page.seen(draft)
    alone = not word(form, "whole") and seen.stamp == draft.stamp
    rule, moved = moved_of(form, seen.needed().worktable.settings.decimal)
    if moved is None:
        return draft.asking.without_limit(rule), alone
    if no_share(form, moved) and is_share(rule, _closed_now(page, draft).rules):
        raise LimitRefused(typed_of(form), *NO_SHARE)
    return draft.asking.with_limit(moved), alone


def _closed_now(page: Page, draft: Draft) -> Closed:
    job = _job(page, draft, start=False)
    return _closed(page, draft, job, page.desk.stands(draft.formula, page.seen(draft))[1])


def _refused(page: Page, request: Request, draft: Draft, refused: LimitRefused) -> Response:
    """What is wrong of a limit, by its name, beside the answer of the limits before."""
    job = _job(page, draft, start=False)
    if not is_fragment(request):
        return _written(page, draft, job, fragment=False, refused=refused)
    sources = page.sources(draft)
    told = page.desk.stands(draft.formula, page.seen(draft))[0].verdicts
    asks = asks_of(draft.asking, _closed_now(page, draft), told, sources, page.figures)
    asks = marked(asks, *refused.typed)
    return page.notice(
        "_limit_refused.html", 409, asks=asks, refused=refused, answer=answer_of(job, page.figures)
    )


def _cured(page: Page, draft: Draft, number: str, press: str) -> Asking:
    """With the concession of this number given; `press` is what its button said, so no other is taken."""
    job = _job(page, draft, start=False)
    outcome = job.outcome if job is not None else None
    offered: tuple[Concession, ...] = (
        outcome.concessions if isinstance(outcome, Impossible | Undecided) else ()
    )
    if not 0 <= whole(number, -1) < len(offered):
        raise UsageError("this way out is not offered any more", "look at the answer as it is now")
    chosen = offered[whole(number)]
    if not press or presses_of(offered)[whole(number)] != press:
        raise UsageError("the ways out changed meanwhile", "look at the answer as it is now")
    asking = draft.asking
    if chosen.leave:
        return replace(asking, leave_out=tuple(dict.fromkeys((*asking.leave_out, chosen.leave))))
    for moved in moves_of(chosen):
        asking = _with_move(asking, moved)
    return asking


def _with_move(asking: Asking, moved: Moved) -> Asking:
    """A limit that was asked by hand is moved where it was asked."""
    rule = moved.rule.removeprefix("asked#") if moved.rule.startswith(f"asked#{LINE}") else moved.rule
    if moved.gone and rule != moved.rule:
        return asking.without_limit(rule)
    return asking.with_limit(replace(moved, rule=rule))


def _saved(page: Page, draft: Draft, which: str) -> str:
    """Writes the proposals of the answer and returns the name of the one chosen."""
    job = _job(page, draft, start=False)
    found = job.outcome if job is not None else None
    if job is not None and job.fault is not None:
        raise OptimiserError(job.fault.what.rstrip("."), job.fault.fix)
    if not isinstance(found, Proposals):
        raise UsageError("there is no proposal to save", "ask again")
    sources = page.sources(draft)
    asked = ask(sources, draft.formula, draft.asking.said)
    number = whole(which) + 1
    paths = save_proposals(found, sources, asked, page.desk.folder, number)
    if not paths:
        raise UsageError("this proposal is not there any more", "look at the answer as it is now")
    return paths[0].stem


def _revision(form: FormData) -> int:
    return whole(word(form, "revision"), -1)


def _tab(request: Request) -> str:
    return request.headers.get("x-tab", "")[:40]
