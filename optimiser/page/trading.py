"""The trade-off of what a draft asks, between two measures; any of its formulas can be taken."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.domain.curve import Curve
from optimiser.domain.outcome import Proposals
from optimiser.errors import UsageError
from optimiser.export.curve_svg import curve_svg
from optimiser.page.drafts import Draft
from optimiser.page.guard import PAPER_CSP
from optimiser.page.jobs import Job
from optimiser.page.notices import Given, notice_of, notices
from optimiser.page.questions import Question
from optimiser.page.show import Page, is_fragment, to, whole, word
from optimiser.page.views.answer import shown_of
from optimiser.page.views.trade import MEASURES, trade_of
from optimiser.page.waiting import presses, waited
from optimiser.units.numbers import DecimalMark
from optimiser.workflows.ask import ask
from optimiser.workflows.save import save_proposals

KNOWN = frozenset(name for name, _ in MEASURES)
ROUTE = "/change/{draft}/trade"


def routes(page: Page) -> list[Route]:
    async def show(request: Request) -> Response:
        draft = page.draft(request)
        pair = _pair(request.query_params)
        if pair is None:
            return await run_in_threadpool(_shown, page, draft, None, ("cost", "departure"))
        question = await run_in_threadpool(_question, page, draft, pair)
        stopped = "stopped" in request.query_params
        job = page.work.known(question) if stopped else page.ask(question, f"{draft.id} trade")
        if job is not None:
            await waited(job, request)
        point = whole(request.query_params.get("point", ""))
        fragment = is_fragment(request)
        return await run_in_threadpool(
            _shown, page, draft, job, pair, asked=True, fragment=fragment, point=point
        )

    def asked(request: Request, form: FormData) -> tuple[Question | None, str]:
        draft, pair = page.draft(request), _pair(form)
        question = _question(page, draft, pair) if pair else None
        return question, f"/change/{draft.id}/trade?{_query(pair or ('cost', 'departure'))}"

    async def drawing(request: Request) -> Response:
        draft = page.draft(request)
        return await run_in_threadpool(_drawing, page, draft, _pair(request.query_params))

    async def take(request: Request) -> Response:
        form = await page.form(request)
        draft = page.draft(request)
        return to(f"/proposal/{await run_in_threadpool(_taken, page, draft, form)}")

    return [
        Route(ROUTE, show),
        *presses(page, ROUTE, asked),
        *notices(page, ROUTE, _carried),
        Route(f"{ROUTE}/curve.svg", drawing),
        Route(f"{ROUTE}/take", take, methods=["POST"]),
    ]


def _pair(given: object) -> tuple[str, str] | None:
    """The two measures that were chosen. Raises UsageError for one measure against itself."""
    get = getattr(given, "get")  # noqa: B009  # query parameters and forms alike
    first, second = str(get("between") or ""), str(get("against") or "")
    if not first and not second:
        return None
    if first not in KNOWN or second not in KNOWN:
        raise UsageError("these are not two measures of the list", "choose two of it")
    if first == second:
        raise UsageError("a measure cannot be set against itself", "choose two measures")
    return first, second


def _fields(pair: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    return ("between", pair[0]), ("against", pair[1])


def _carried(given: Given) -> tuple[tuple[str, str], ...]:
    pair = _pair(given)
    return _fields(pair) if pair else ()


def _query(pair: tuple[str, str]) -> str:
    return urlencode({"between": pair[0], "against": pair[1]})


def _question(page: Page, draft: Draft, pair: tuple[str, str]) -> Question:
    asking = replace(draft.asking, alternatives=0)
    return Question(draft.formula, asking, page.seen(draft).stamp, "curve", pair)


def _shown(
    page: Page,
    draft: Draft,
    job: Job | None,
    pair: tuple[str, str],
    *,
    asked: bool = False,
    fragment: bool = False,
    point: int = 0,
) -> Response:
    """The curve, its corners as rows, and in full the formula of the corner that was pressed."""
    found = job.outcome if job is not None and isinstance(job.outcome, Curve) else None
    at = f"/change/{draft.id}/trade"
    again = f"{at}?{_query(pair)}"
    chosen = next((one for one in found.points if one.number == point), None) if found else None
    plain = job is not None and job.state == "done" and found is None
    return page.show(
        "_trade.html" if fragment else "trade.html",
        step="make",
        draft=draft,
        job=job,
        asked=asked,
        plain=plain,
        shown=trade_of(found, page.figures.decimal) if found else None,
        formula=page.sources(draft).worktable.formulas.get(draft.formula),
        choices=MEASURES,
        pair=pair,
        drawing=_inline(found, again, page.figures.decimal) if found else "",
        point=point,
        chosen=shown_of(chosen.proposal, found.request, page.figures) if found and chosen else None,
        currency=found.request.currency if found else "",
        at=at,
        again=again,
        query=_query(pair),
        fields=_fields(pair),
        carry=_fields(pair) if asked else (),
        under=notice_of(page, draft),
    )


def _curve(page: Page, draft: Draft, pair: tuple[str, str] | None) -> Curve:
    job = page.work.known(_question(page, draft, pair)) if pair else None
    if job is None or not isinstance(job.outcome, Curve):
        raise HTTPException(404, "This curve is not there any more. Ask for it again.")
    return job.outcome


def _inline(found: Curve, again: str, decimal: DecimalMark) -> Markup:
    """The drawing as a part of the page: each corner leads to its formula. All text in it is escaped."""
    drawing = curve_svg(found, decimal, link=lambda number: f"{again}&point={number}#formula")
    return Markup(drawing)  # noqa: S704


def _drawing(page: Page, draft: Draft, pair: tuple[str, str] | None) -> Response:
    svg = curve_svg(_curve(page, draft, pair), page.figures.decimal)
    return Response(svg, media_type="image/svg+xml", headers={"content-security-policy": PAPER_CSP})


def _taken(page: Page, draft: Draft, form: FormData) -> str:
    """Keeps the formula of one corner as a proposal and returns its name."""
    found = _curve(page, draft, _pair(form))
    number = whole(word(form, "point"))
    chosen = next((one for one in found.points if one.number == number), None)
    if chosen is None:
        raise UsageError("the curve has no such point", "look at the curve as it is now")
    sources = page.sources(draft)
    asked = ask(sources, draft.formula, replace(draft.asking, alternatives=0).said)
    base = page.desk.stands(draft.formula, page.seen(draft))[0].verdicts
    outcome = Proposals(found.request, base, (chosen.proposal,))
    called = f"{found.first.asked}-{found.second.asked}-{number}".replace(" ", "-")
    return save_proposals(outcome, sources, asked, page.desk.folder, 1, called=called)[0].stem
