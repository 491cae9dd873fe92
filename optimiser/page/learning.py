"""What trials teach: before and after, the check on trials left out, and one press that writes it."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.errors import UsageError
from optimiser.export.spots_svg import spots_svg
from optimiser.loading.trials import trial_files
from optimiser.page.desk import mark_of
from optimiser.page.drafts import Asking
from optimiser.page.guard import PAPER_CSP
from optimiser.page.jobs import Job
from optimiser.page.notices import Beside, looks, state_of
from optimiser.page.questions import Question
from optimiser.page.show import Page, is_fragment, today, word
from optimiser.page.views.lesson import lesson_of
from optimiser.page.waiting import presses, waited
from optimiser.trials.learning import Lesson
from optimiser.workflows.learning import write_learned

AT = "/learning"


def routes(page: Page) -> list[Route]:
    async def show(request: Request) -> Response:
        question = await run_in_threadpool(_question, page)
        stopped = "stopped" in request.query_params
        job = page.work.known(question) if stopped else page.work.ask(question, AT)
        if job is not None:
            await waited(job, request)
        return await run_in_threadpool(_shown, page, job, question, is_fragment(request))

    async def plot(_request: Request) -> Response:
        return await run_in_threadpool(_plot, page)

    async def write(request: Request) -> Response:
        form = await page.form(request)
        return await run_in_threadpool(_write, page, word(form, "of"))

    return [
        Route(AT, show),
        *looks(page, AT, beside=Beside(lambda _name: _stamp(page), "Trials were written down meanwhile.")),
        *presses(page, AT, lambda _request, _form: (_question(page), AT)),
        Route(f"{AT}/check.svg", plot),
        Route(f"{AT}/write", write, methods=["POST"]),
    ]


def _question(page: Page) -> Question:
    """Trials have no part in the stamp of the folder, so theirs stands beside it."""
    return Question("", Asking(), page.desk.look().stamp, "learn", (_stamp(page),))


def _stamp(page: Page) -> str:
    return mark_of(trial_files(page.desk.folder))


def _shown(page: Page, job: Job | None, question: Question, fragment: bool) -> Response:
    page.desk.sources()
    lesson = job.outcome if job is not None and isinstance(job.outcome, Lesson) else None
    return page.show(
        "_lesson.html" if fragment else "learning.html",
        at=AT,
        job=job,
        shown=lesson_of(lesson, page.figures.decimal) if lesson else None,
        of=_of(question),
    )


def _of(question: Question) -> str:
    return state_of(question.stamp, question.about[0])


def _lesson(page: Page) -> tuple[Lesson, str]:
    question = _question(page)
    job = page.work.known(question)
    if job is None or not isinstance(job.outcome, Lesson):
        raise HTTPException(404, "There is nothing learned to show yet. Look at what trials teach first.")
    return job.outcome, _of(question)


def _plot(page: Page) -> Response:
    lesson, _ = _lesson(page)
    svg = spots_svg(lesson, page.figures.decimal)
    return Response(svg, media_type="image/svg+xml", headers={"content-security-policy": PAPER_CSP})


def _write(page: Page, of: str) -> Response:
    """Writes only the lesson that was shown: of these trials and these tables."""
    lesson, now = _lesson(page)
    if of != now:
        raise UsageError("the trials or the tables changed meanwhile", "look at what they teach now")
    path = write_learned(lesson, page.desk.sources(), today())
    if path is None:
        raise UsageError("nothing was learned, so nothing was written", "record more readings")
    count = len(lesson.learned)
    return page.show("learned.html", count=count, file=path.name)
