"""A trial opened of a proposal or a formula: weighed out by the process that solves, then written."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field, replace
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, QueryParams
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.domain.trials import Trial
from optimiser.errors import OptimiserError
from optimiser.page.desk import mark_of
from optimiser.page.drafts import Asking
from optimiser.page.faults import fault_of
from optimiser.page.jobs import Job
from optimiser.page.kept import proposal_file
from optimiser.page.questions import LOST, Fault, Question
from optimiser.page.refusing import cannot_be_weighed, not_yet
from optimiser.page.show import Page, day_of, is_fragment, to
from optimiser.page.waiting import SOON, presses, until, waited
from optimiser.workflows.trials import check_name, keep_trial, next_name
from optimiser.workflows.volumes import batch_grams

ROUTE = "/{kind:str}/{name}/trial"
TYPED = ("day", "size", "called")
LONGEST = 200
MOST_PRESSES = 200


@dataclass(frozen=True, slots=True)
class Press:
    """What a trial is opened of and what was typed; `once` tells one press from another."""

    kind: str
    name: str
    day: str
    size: str
    called: str
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
    def typed(self) -> dict[str, str]:
        return {name: getattr(self, name) for name in TYPED}

    @property
    def fields(self) -> dict[str, str]:
        return {**self.typed, "once": self.once}

    @property
    def address(self) -> str:
        return f"{self.at}?{urlencode(self.fields)}"


@dataclass
class Presses:
    """Those of this start, with the trial each has opened: none opens two, not even by going back."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    _trials: OrderedDict[Press, str] = field(default_factory=OrderedDict)

    def begin(self, press: Press) -> None:
        self._trials.setdefault(press, "")
        self._trials.move_to_end(press)
        while len(self._trials) > MOST_PRESSES:
            self._trials.popitem(last=False)

    def goes_on(self, press: Press) -> bool:
        """Whether it was pressed and has come to no end: then it needs no other press."""
        return self._trials.get(press) == ""

    def trial(self, press: Press) -> str:
        """What it has opened."""
        return self._trials.get(press, "")

    def opened(self, press: Press, trial: str) -> None:
        self._trials[press] = trial

    def refused(self, press: Press) -> None:
        self._trials.pop(press, None)


def routes(page: Page) -> list[Route]:
    known = Presses()

    def asked(request: Request, given: FormData | QueryParams) -> tuple[Press, Question]:
        press = _press(request, given)
        return press, _question(page, press)

    def pressed(request: Request, form: FormData) -> tuple[Question, str]:
        press, question = asked(request, form)
        return question, press.address

    async def start(request: Request) -> Response:
        press, question = await run_in_threadpool(asked, request, await page.form(request))
        if known.trial(press):
            return _to_trial(known.trial(press))
        wrong = await run_in_threadpool(_wrong, page, press)
        if wrong is not None:
            return wrong
        known.begin(press)
        job = page.ask(question, press.address)
        await until(job, SOON)
        if job.state in ("running", "stopped"):
            return to(press.address)
        return await run_in_threadpool(_ended, page, known, press, job)

    async def wait(request: Request) -> Response:
        press, question = await run_in_threadpool(asked, request, request.query_params)
        part = is_fragment(request)
        if known.trial(press):
            return _to_trial(known.trial(press), part=part)
        if not part:
            wrong = await run_in_threadpool(_wrong, page, press)
            if wrong is not None:
                return wrong
        stopped = "stopped" in request.query_params
        job = page.work.known(question) if stopped else page.ask(question, press.address)
        if job is not None and part:
            await waited(job, request)
        return await run_in_threadpool(_waiting, page, known, press, job, part)

    return [
        Route(ROUTE, start, methods=["POST"]),
        Route(ROUTE, wait),
        *presses(page, ROUTE, pressed),
    ]


def _press(request: Request, given: FormData | QueryParams) -> Press:
    day, size, called, once = (str(given.get(key, "")).strip()[:LONGEST] for key in (*TYPED, "once"))
    parts = request.path_params
    return Press(parts["kind"], parts["name"], day, size, called, once or secrets.token_hex(8))


def _question(page: Page, press: Press) -> Question:
    """Only names that the folder lists are opened. Proposals have no part in its stamp, but a mark."""
    sources = page.desk.sources()
    if press.kind == "proposal":
        file = proposal_file(page, press.name)
        word, mark = str(file), mark_of([file])
    elif press.kind == "formula" and press.name in sources.worktable.formulas:
        word, mark = press.name, ""
    else:
        raise HTTPException(404, "The folder has nothing of this name to open a trial of.")
    about = word, press.day, press.size, press.called, f"{press.once} {mark}"
    return Question("", Asking(), page.desk.look().stamp, "trial", about)


def _wrong(page: Page, press: Press) -> Response | None:
    """The form again where a field of it cannot be as it was typed."""

    def read_size() -> None:
        if press.size:
            batch_grams(press.size, page.desk.decimal)

    for name, read in (
        ("day", lambda: day_of(press.day)),
        ("size", read_size),
        ("called", lambda: check_name(page.desk.folder, press.called)),
    ):
        try:
            read()
        except OptimiserError as fault:
            return _refused(page, press, fault_of(fault), name)
    return None


def _waiting(page: Page, known: Presses, press: Press, job: Job | None, part: bool) -> Response:
    return page.show(
        "_opening.html" if part else "weighing.html",
        part="_opening.html",
        step="make",
        title="A trial to be opened",
        job=job,
        ended=job is not None and job.state in ("done", "fault"),
        goes_on=known.goes_on(press),
        at=press.at,
        again=press.address,
        fields=tuple(press.fields.items()),
        back=press.back,
    )


def _ended(page: Page, known: Presses, press: Press, job: Job) -> Response:
    """The trial, written by the first who comes for it; what keeps it from being opened, above its form."""
    with known.lock:
        if known.trial(press):
            return _to_trial(known.trial(press))
        found = job.outcome
        if not isinstance(found, Trial):
            known.refused(press)
            page.work.forget(job.question)
            fault = job.fault or LOST
            return _refused(page, press, fault, "size" if cannot_be_weighed(fault) else "")
        if not press.called:  # others may have been opened since it was planned
            found = replace(found, id=next_name(page.desk.folder, found.formula))
        try:
            keep_trial(page.desk.folder, found)
        except OptimiserError as fault:
            known.refused(press)
            return _refused(page, press, fault_of(fault), "called" if press.called else "")
        known.opened(press, found.id)
        return _to_trial(found.id)


def _to_trial(name: str, *, part: bool = False) -> Response:
    address = f"/trial/{quote(name)}"
    return Response(headers={"hx-redirect": address}) if part else to(address)


def _refused(page: Page, press: Press, fault: Fault, wrong: str) -> Response:
    title = "This trial is not opened yet"
    return not_yet(page, fault, title, press.at, press.typed, (wrong,) if wrong else (), press.back)
