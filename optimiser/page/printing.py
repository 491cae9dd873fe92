"""Sheets to print, of proposals and of trials: weighed out by the process that solves, and waited for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, QueryParams
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from optimiser.loading.batches import batch_files
from optimiser.page.desk import mark_of
from optimiser.page.drafts import Asking
from optimiser.page.guard import PAPER_CSP
from optimiser.page.jobs import Job
from optimiser.page.kept import proposal_file
from optimiser.page.questions import LOST, Fault, Question
from optimiser.page.refusing import cannot_be_weighed, is_no_batch, not_yet
from optimiser.page.show import Page, is_fragment
from optimiser.page.trying import known_trial
from optimiser.page.waiting import presses, waited
from optimiser.units.numbers import show_number
from optimiser.workflows.sheet import PAPERS

LONGEST = 200
Typed = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Wanted:
    """The sheet of a `proposal`, for a `trial` or not. `at` is its address without what was `typed`."""

    at: str
    back: tuple[str, str]
    proposal: str
    batch: str
    typed: Typed
    trial: str = ""

    @property
    def paper(self) -> str:
        return self.typed["paper"] if self.typed["paper"] in PAPERS else next(iter(PAPERS))

    @property
    def address(self) -> str:
        return f"{self.at}?{urlencode(self.typed)}"


def routes(page: Page) -> list[Route]:
    return [
        *_sheet(page, "/sheet/{name}", partial(_of_proposal, page)),
        *_sheet(page, "/trial/{name}/sheet", partial(_of_trial, page)),
    ]


def _sheet(page: Page, at: str, wanted_of: Callable[[str, Typed], Wanted]) -> list[Route]:
    def asked(request: Request, given: FormData | QueryParams) -> tuple[Wanted, Question]:
        typed = {key: str(given.get(key, ""))[:LONGEST] for key in ("batch", "because", "paper")}
        wanted = wanted_of(request.path_params["name"], typed)
        return wanted, _question(page, wanted)

    def pressed(request: Request, form: FormData) -> tuple[Question, str]:
        wanted, question = asked(request, form)
        return question, wanted.address

    async def show(request: Request) -> Response:
        wanted, question = await run_in_threadpool(asked, request, request.query_params)
        stopped = "stopped" in request.query_params
        job = page.work.known(question) if stopped else page.ask(question, wanted.address)
        if job is not None:
            await waited(job, request)
        return await run_in_threadpool(_shown, page, wanted, job, is_fragment(request))

    return [Route(at, show), *presses(page, at, pressed)]


def _of_proposal(page: Page, name: str, typed: Typed) -> Wanted:
    proposal_file(page, name)
    there = quote(name, safe="")
    return Wanted(f"/sheet/{there}", (f"/proposal/{there}", "the proposal"), name, typed["batch"], typed)


def _of_trial(page: Page, name: str, typed: Typed) -> Wanted:
    """The sheet with the amounts of the trial."""
    trial = known_trial(page, name)
    proposal = trial.proposal.removesuffix(".yaml")
    if proposal not in page.desk.proposals():
        raise HTTPException(
            404, "The proposal of this trial is not in the folder; only a proposal has a sheet."
        )
    batch = f"{show_number(trial.batch_g, 6, decimal=page.desk.sources().worktable.settings.decimal)} g"
    at = f"/trial/{quote(name, safe='')}"
    rest = {key: typed[key] for key in ("because", "paper")}
    return Wanted(f"{at}/sheet", (at, "the trial"), proposal, batch, rest, trial=name)


def _question(page: Page, wanted: Wanted) -> Question:
    """Proposals and batches have no part in the stamp of the folder, so theirs stands beside it."""
    mark = mark_of([proposal_file(page, wanted.proposal), *batch_files(page.desk.folder)])
    about = wanted.proposal, wanted.batch, wanted.typed["because"], wanted.trial, mark
    return Question("", Asking(), page.desk.look().stamp, "sheet", about)


def _shown(page: Page, wanted: Wanted, job: Job | None, fragment: bool) -> Response:
    """The paper itself; until it is there, that it is under way."""
    under_way = job is None or job.state in ("running", "stopped")
    if fragment and not under_way:  # the paper is a page of its own
        return Response(headers={"hx-refresh": "true"})
    papers: Mapping[str, str] | None = job.outcome if job else None
    if job is None or under_way or (job.fault and job.fault.again):
        return _waiting(page, wanted, job, fragment)
    if job.fault or papers is None:
        return _not_printed(page, wanted, job.fault or LOST)
    return HTMLResponse(papers[wanted.paper], headers={"content-security-policy": PAPER_CSP})


def _waiting(page: Page, wanted: Wanted, job: Job | None, fragment: bool) -> Response:
    return page.show(
        "_waiting.html" if fragment else "weighing.html",
        part="_waiting.html",
        step="print",
        title="The sheet to print",
        job=job,
        at=wanted.at,
        again=wanted.address,
        fields=tuple(wanted.typed.items()),
        back=wanted.back,
    )


def _not_printed(page: Page, wanted: Wanted, fault: Fault) -> Response:
    """What keeps a sheet from being printed, above its form."""
    wrong: tuple[str, ...] = ()
    if "--because" in fault.fix:
        wrong = ("because",)
    elif is_no_batch(page, wanted.batch) or cannot_be_weighed(fault):
        wrong = ("batch",)
    return not_yet(page, fault, "This sheet is not printed yet", wanted.at, wanted.typed, wrong, wanted.back)
