"""What a kept proposal was asked with, as a request anew: to change it, to see why, to trade its wishes."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.domain.selector import Pick, Selector
from optimiser.errors import DataError, UsageError
from optimiser.loading.proposals import SavedProposal, read_proposal
from optimiser.page.drafts import Asking
from optimiser.page.kept import proposal_file
from optimiser.page.show import Page, to, word

THEN = {"": "", "why": "/why", "trade": "/trade"}


def routes(page: Page) -> list[Route]:
    async def again(request: Request) -> Response:
        form = await page.form(request)
        draft = await run_in_threadpool(_begun, page, request.path_params["name"])
        return to(f"/change/{draft}{THEN.get(word(form, 'then'), '')}")

    return [Route("/proposal/{name}/ask", again, methods=["POST"])]


def _begun(page: Page, name: str) -> str:
    """The draft that asks the same. Raises DataError where the proposal cannot be read any more."""
    path = proposal_file(page, name)
    sources = page.desk.sources()
    saved, problems = read_proposal(path, sources.worktable, sources.vocabulary)
    if saved is None:
        raise DataError(problems)
    return page.drafts.start(saved.formula, asking_of(saved)).id


def asking_of(saved: SavedProposal) -> Asking:
    """Raises UsageError for what only the command line asks."""
    if saved.bare or saved.firm is not None or len(saved.aim) > 1:
        raise UsageError("this proposal was asked for in a way that the page has no words for", "ask anew")
    return Asking(
        briefs=saved.briefs,
        leave_out=tuple(_word(one) for one in saved.leave_out),
        swaps=saved.instead_of,
        only_shelf=saved.only_from == "shelf",
        aim=saved.aim[0] if saved.aim else "",
        moved=saved.moved,
    )


def _word(one: Selector) -> str:
    if not isinstance(one, Pick):
        raise UsageError("this proposal leaves out what the page has no word for", "ask anew")
    return one.name if one.field == "ingredient" else f"{one.field}:{one.name}"
