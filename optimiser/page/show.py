"""Templates filled in: the one place where answers of the page become HTML."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from jinja2 import Environment
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from optimiser.errors import UsageError
from optimiser.page.desk import Desk, Seen
from optimiser.page.drafts import Draft, Drafts
from optimiser.page.filling import environment
from optimiser.page.guard import ENTER, Keys
from optimiser.page.jobs import Job
from optimiser.page.questions import Fault, Question
from optimiser.page.views.figures import Figures
from optimiser.page.work import Work
from optimiser.requests.sources import Sources

MOST_FIELDS = 200
WHOLE_PAGE = "main"
"""The id of what takes the place of all that a page shows."""
WAITED_FOR = "found"
"""The id of what takes the place of a wait; its screens have no room for notices."""


@dataclass
class Page:
    """What every route works with."""

    desk: Desk
    work: Work
    keys: Keys
    drafts: Drafts = field(default_factory=Drafts)
    templates: Environment = field(default_factory=environment)

    def __post_init__(self) -> None:
        self.desk.worked_on = self.drafts.stamps

    @property
    def figures(self) -> Figures:
        return Figures(self.desk.decimal)

    def seen(self, draft: Draft) -> Seen:
        """The folder as the draft is worked on: as it began, until changed files are taken up."""
        return self.states(draft)[0]

    def states(self, draft: Draft) -> tuple[Seen, Seen]:
        """The folder as the draft is worked on, and as it is; of one look at the files.

        Both are the same where it began in a folder that could not be read, where files were only touched,
        and where what it began with is not held any more: then the draft is marked, and the screen says so.
        """
        now, held = self.desk.look(), self.desk.seen(draft.stamp)
        if held is None:  # gone on meanwhile with other files
            draft = self.drafts.get(draft.id) or draft
            held = self.desk.seen(draft.stamp)
        if held is None or held.sources is None or (held is not now and held.mark == now.mark):
            if draft.stamp != now.stamp:
                self.drafts.begin(draft.id, now.stamp, lost=held is None and draft.stamp != 0)
            return now, now
        return held, now

    def sources(self, draft: Draft) -> Sources:
        """What the draft is worked on. Raises DataError."""
        return self.seen(draft).needed()

    def ask(self, question: Question, owner: str) -> Job:
        """The answer under way, of the files that the question speaks of, whatever the folder is by then."""
        then = self.desk.seen(question.stamp)
        return self.work.ask(question, owner, then.sources if then else None)

    def text(self, template: str, **values: Any) -> str:
        return self.templates.get_template(template).render(
            token=self.keys.form,
            folder_name=values.pop("folder_name", "") or self._name(),
            step=values.pop("step", ""),
            today=today().isoformat(),
            lost=self._lost(values.get("draft")),
            **values,
        )

    def _lost(self, draft: Draft | None) -> bool:
        return draft is not None and self.drafts.is_lost(draft.id)

    def _name(self) -> str:
        seen = self.desk.look()
        return seen.sources.worktable.settings.name if seen.sources else self.desk.folder.name

    def show(self, template: str, status: int = 200, **values: Any) -> Response:
        return HTMLResponse(self.text(template, **values), status)

    def fault(self, request: Request, fault: Fault, status: int, **values: str) -> Response:
        """The fault as a page, or as a notice on the page that is there; without a word of the folder to
        those who are not let in yet.
        """
        if request.url.path == ENTER:
            values["folder_name"] = "Password"
        if not is_fragment(request) or request.headers.get("hx-target") == WHOLE_PAGE:
            return self.show("fault.html", status, fault=fault, **values)
        if request.headers.get("hx-target") == WAITED_FOR:
            return self.show("_fault.html", status, fault=fault, **values)
        return self.notice("_fault.html", status, fault=fault, **values)

    def notice(self, template: str, status: int, **values: Any) -> Response:
        """A part that takes the place of notices and leaves the rest as it is."""
        response = self.show(template, status, **values)
        response.headers["hx-retarget"] = "#notice"
        response.headers["hx-reswap"] = "innerHTML"
        return response

    async def form(self, request: Request) -> FormData:
        """The fields of a post. Raises HTTPException 403 where it does not carry the page's own token."""
        form = await request.form(max_files=1, max_fields=MOST_FIELDS)
        token = form.get("token")
        if not isinstance(token, str) or not self.keys.fits(token):
            raise HTTPException(403, "This form is from an earlier start of the page. Load the page again.")
        return form

    def draft(self, request: Request) -> Draft:
        draft = self.drafts.get(request.path_params["draft"])
        if draft is None:
            raise HTTPException(
                404, "This request is gone: the page was started anew. Pick the formula again."
            )
        return draft


def today() -> date:
    """The calendar day here, as fields of a day start with it."""
    return datetime.now().astimezone().date()


def day_of(text: str) -> date:
    """Raises UsageError for what is no day."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f'"{text}" is no day', "write it as 2026-11-25") from None


def word(form: FormData, name: str) -> str:
    value = form.get(name, "")
    return value.strip() if isinstance(value, str) else ""


def whole(text: str, otherwise: int = 0) -> int:
    """A plain whole number of up to eight digits; `otherwise` for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else otherwise


def is_fragment(request: Request) -> bool:
    """Whether a part of the page is asked for, not a whole page."""
    return request.headers.get("hx-request") == "true"


def to(path: str) -> Response:
    return RedirectResponse(path, 303)
