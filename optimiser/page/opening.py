"""A trial opened of a proposal or a formula: weighed out by the process that solves, then written."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from functools import partial
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, QueryParams
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.domain.trials import Trial
from optimiser.errors import OptimiserError
from optimiser.page.drafts import Asking
from optimiser.page.faults import fault_of
from optimiser.page.jobs import Job
from optimiser.page.questions import LOST, Fault, Question
from optimiser.page.refusing import cannot_be_weighed, not_yet
from optimiser.page.show import Page, day_of, is_fragment, to
from optimiser.page.waiting import SOON, presses, until, waited
from optimiser.workflows.trials import check_name, keep_trial
from optimiser.workflows.volumes import batch_grams

ROUTE = "/{kind:str}/{name}/trial"
TYPED = ("day", "size", "called")
LONGEST = 200
MOST_KEPT = 60


@dataclass(frozen=True, slots=True)
class Wish:
    """What a trial is opened of and what was typed; `once` tells one press from another."""

    kind: str
    name: str
    typed: tuple[str, ...]
    once: str

    @property
    def home(self) -> str:
        return f"/{self.kind}/{quote(self.name, safe='')}"

    @property
    def at(self) -> str:
        return f"{self.home}/trial"

    @property
    def back(self) -> tuple[str, str]:
        return self.home, f"the {self.kind}"

    @property
    def called(self) -> str:
        return self.typed[TYPED.index("called")]

    @property
    def fields(self) -> tuple[tuple[str, str], ...]:
        return (*zip(TYPED, self.typed, strict=True), ("once", self.once))

    @property
    def address(self) -> str:
        return f"{self.at}?{urlencode(self.fields)}"


@dataclass
class Opened:
    """Trials by the press that opened them: the same press opens none twice, not even by going back."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    _trials: OrderedDict[str, str] = field(default_factory=OrderedDict)

    def of(self, once: str) -> str:
        return self._trials.get(once, "")

    def keep(self, once: str, trial: str) -> None:
        self._trials[once] = trial
        while len(self._trials) > MOST_KEPT:
            self._trials.popitem(last=False)


def routes(page: Page) -> list[Route]:
    done = Opened()

    def asked(request: Request, given: FormData | QueryParams) -> tuple[Wish, Question]:
        wish = _wish(request, given)
        return wish, _question(page, wish)

    def pressed(request: Request, form: FormData) -> tuple[Question, str]:
        wish, question = asked(request, form)
        return question, wish.address

    async def start(request: Request) -> Response:
        wish, question = await run_in_threadpool(asked, request, await page.form(request))
        wrong = await run_in_threadpool(_wrong, page, wish)
        if wrong is not None:
            return wrong
        job = page.ask(question, wish.at)
        await until(job, SOON)
        if job.state in ("running", "stopped"):
            return to(wish.address)
        return await run_in_threadpool(_ended, page, done, wish, job)

    async def wait(request: Request) -> Response:
        wish, question = await run_in_threadpool(asked, request, request.query_params)
        wrong = await run_in_threadpool(_wrong, page, wish)
        if wrong is not None:
            return wrong
        if done.of(wish.once):
            return _to_trial(done.of(wish.once))
        stopped = "stopped" in request.query_params
        job = page.work.known(question) if stopped else page.ask(question, wish.at)
        if job is not None:
            await waited(job, request)
        return await run_in_threadpool(_waiting, page, wish, job, is_fragment(request))

    return [
        Route(ROUTE, start, methods=["POST"]),
        Route(ROUTE, wait),
        *presses(page, ROUTE, pressed),
    ]


def _wish(request: Request, given: FormData | QueryParams) -> Wish:
    typed = tuple(str(given.get(key, "")).strip()[:LONGEST] for key in TYPED)
    once = str(given.get("once", ""))[:LONGEST] or secrets.token_hex(8)
    return Wish(request.path_params["kind"], request.path_params["name"], typed, once)


def _question(page: Page, wish: Wish) -> Question:
    """Only names that the folder lists are opened."""
    sources = page.desk.sources()
    listed = {"proposal": page.desk.proposals(), "formula": tuple(sources.worktable.formulas)}
    if wish.name not in listed.get(wish.kind, ()):
        raise HTTPException(404, "The folder has nothing of this name to open a trial of.")
    of_proposal = wish.kind == "proposal"
    word = f"{page.desk.folder}/proposals/{wish.name}.yaml" if of_proposal else wish.name
    return Question("", Asking(), page.desk.look().stamp, "trial", (word, *wish.typed, wish.once))


def _wrong(page: Page, wish: Wish) -> Response | None:
    """The form again where a field of it cannot be read."""
    day, size, called = wish.typed
    for name, read in (
        ("day", partial(day_of, day)),
        ("size", partial(batch_grams, size, page.desk.decimal) if size else None),
        ("called", partial(check_name, called)),
    ):
        try:
            if read is not None:
                read()
        except OptimiserError as fault:
            return _refused(page, wish, fault_of(fault), name)
    return None


def _waiting(page: Page, wish: Wish, job: Job | None, fragment: bool) -> Response:
    ended = job is not None and job.state in ("done", "fault")
    return page.show(
        "_opening.html" if fragment else "opening.html",
        step="make",
        job=job,
        ended=ended,
        at=wish.at,
        again=wish.address,
        fields=wish.fields,
        back=wish.back,
    )


def _ended(page: Page, done: Opened, wish: Wish, job: Job) -> Response:
    """The trial, written by the first who comes for it; what keeps it from being opened, above its form."""
    with done.lock:
        if done.of(wish.once):
            return _to_trial(done.of(wish.once))
        if not isinstance(job.outcome, Trial):
            page.work.forget(job.question)
            fault = job.fault or LOST
            return _refused(page, wish, fault, "size" if cannot_be_weighed(fault) else "")
        try:
            keep_trial(page.desk.folder, job.outcome)
        except OptimiserError as fault:
            return _refused(page, wish, fault_of(fault), "called" if wish.called else "")
        done.keep(wish.once, job.outcome.id)
        return _to_trial(job.outcome.id)


def _to_trial(name: str) -> Response:
    return to(f"/trial/{quote(name)}")


def _refused(page: Page, wish: Wish, fault: Fault, wrong: str) -> Response:
    typed = dict(zip(TYPED, wish.typed, strict=True))
    title = "This trial is not opened yet"
    return not_yet(page, fault, title, wish.at, typed, (wrong,) if wrong else (), wish.back)
