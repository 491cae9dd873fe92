"""Two formulas, proposals or trials side by side."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.domain.comparison import Comparison
from optimiser.loading.trials import trial_files
from optimiser.page.show import Page
from optimiser.page.views.beside import beside_shown
from optimiser.requests.sources import Sources
from optimiser.workflows.compare import history
from optimiser.workflows.compare_trials import beside_its_plan, compare_any

Group = tuple[str, tuple[tuple[str, str], ...]]


def routes(page: Page) -> list[Route]:
    async def show(request: Request) -> Response:
        first, second = (request.query_params.get(key, "") for key in ("first", "second"))
        whole = request.query_params.get("all", "") == "yes"
        return await run_in_threadpool(_shown, page, first, second, whole)

    return [Route("/compare", show)]


def _shown(page: Page, first: str, second: str, whole: bool) -> Response:
    sources = page.desk.sources()
    groups = _choices(page, sources)
    known = {value for _, choices in groups for value, _ in choices}
    for one in (first, second):
        if one and one not in known:
            raise HTTPException(404, "The folder has nothing of this name to compare.")
    found = _compared(page, sources, first, second) if first else ()
    return page.show(
        "compare.html",
        step="have",
        groups=groups,
        first=first,
        second=second,
        whole=whole,
        shown=tuple(beside_shown(one, page.figures, whole=whole) for one in found),
    )


def _choices(page: Page, sources: Sources) -> tuple[Group, ...]:
    """What can be chosen: a kind and a name, so that a trial called like a proposal stays itself."""
    formulas = sorted(sources.worktable.formulas.values(), key=lambda f: f.name.casefold())
    trials = [path.stem for path in trial_files(page.desk.folder)]
    found = (
        ("Formulas", tuple((f"formula:{f.id}", f.name) for f in formulas)),
        ("Proposals", tuple((f"proposal:{name}", name) for name in page.desk.proposals())),
        ("Trials", tuple((f"trial:{name}", name) for name in trials)),
    )
    return tuple(group for group in found if group[1])


def _compared(page: Page, sources: Sources, first: str, second: str) -> tuple[Comparison, ...]:
    """One alone: a trial beside its plan, a formula beside what it was adopted from."""
    if second:
        return (compare_any(sources, _word(page, first), _word(page, second)),)
    kind, _, name = first.partition(":")
    if kind == "trial":
        return (beside_its_plan(sources, name),)
    return history(sources, name) if kind == "formula" else ()


def _word(page: Page, choice: str) -> str:
    kind, _, name = choice.partition(":")
    return str(page.desk.folder / "proposals" / f"{name}.yaml") if kind == "proposal" else name
