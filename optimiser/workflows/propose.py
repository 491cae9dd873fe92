"""The main job: from a formula and a brief to judged proposals, or a proof that none exists."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date

from optimiser.checks.judge import broken, judge
from optimiser.domain.brief import Brief
from optimiser.domain.firm import Firm
from optimiser.domain.formula import Formula
from optimiser.domain.outcome import Outcome, Proposal, Proposals, Undecided, Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Absent, Mean
from optimiser.domain.selector import Pick, matches
from optimiser.errors import DataError, RefusedError, UsageError
from optimiser.explain.impossible import explain_impossible
from optimiser.explain.outside import Again
from optimiser.law.refusals import refusals
from optimiser.loading.briefs import resolve_brief
from optimiser.problems import Problem, did_you_mean
from optimiser.requests.close import close
from optimiser.requests.firm import held_firm
from optimiser.requests.options import Options
from optimiser.requests.sources import Sources
from optimiser.search.apart import Within
from optimiser.search.proposal import dress
from optimiser.search.propose import search, silent
from optimiser.solver.interface import Limits
from optimiser.workflows.firmness import firmness_of
from optimiser.workflows.moving import moved_request
from optimiser.workflows.trying import try_batches

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Asked:
    """One call of `propose`. `notes` say what was assumed in reading it; `tried` batches are weighed out.

    The wishes and the first aim of the first proposal are proved in exact fractions where at most `certify`
    cases settle it.
    """

    formula: Formula
    options: Options = field(default_factory=Options)
    alternatives: int = 0
    limits: Limits = field(default_factory=Limits)
    today: date | None = None
    notes: tuple[str, ...] = ()
    tried: int = 0
    within: Within = field(default_factory=Within)
    certify: int = 0


def request_for(sources: Sources, asked: Asked) -> Request:
    """The closed request, held firm where that is asked. Raises RefusedError, DataError or UsageError."""
    plain, firm = _plain_request(sources, asked)
    return plain if firm is None else held_firm(plain, firm)


def _plain_request(sources: Sources, asked: Asked) -> tuple[Request, Firm | None]:
    """The closed request at middle values, and how firm it is to be."""
    brief = _brief(sources, asked.options)
    request = close(sources, asked.formula, brief, asked.options, asked.today)
    request = moved_request(request, asked.options.moved)
    refused = refusals(
        use=request.product.use,
        area=request.product.area,
        age=request.product.age,
        form=request.product.form,
        claims=request.formula.claims,
    )
    if refused:
        raise RefusedError(refused[0].sentence, refused[0].source)
    _check_filler(request)
    problems = _missing(request)
    if problems:
        raise DataError(problems)
    return request, asked.options.firm or (brief.firm if brief is not None else None)


def _check_filler(request: Request) -> None:
    """The line that makes up 100 % cannot be left out: nothing would fill in its place."""
    filler = request.ingredients[request.filler.ingredient]
    out = [
        r for r in request.rules if isinstance(r, Absent) and r.head.rank is None and r.head.basis != "safety"
    ]
    if any(matches(rule.of, filler) is not False for rule in out):
        what = f"{filler.name} makes up this formula to 100 %, so it cannot be left out"
        raise UsageError(what, 'write "to 100 %" on another line of the formula first')


def propose(sources: Sources, asked: Asked, tell: Tell = silent) -> Outcome:
    """Proposals, a proof that none exists, or an honest 'undecided'.

    The base is checked first, as it stands and without the brief.
    """
    tell("checking the base")
    base = check_formula(sources, asked.formula, asked.today)
    plain, firm = _plain_request(sources, asked)
    request = plain if firm is None else held_firm(plain, firm)
    outcome = answered(request, base, asked, tell, again=lambda name: _without(sources, asked, name))
    first = outcome.proposals[0] if isinstance(outcome, Proposals) else None
    if firm is not None:
        outcome = replace(outcome, firmness=firmness_of(plain, request, first, asked.limits, tell))
    if asked.tried and isinstance(outcome, Proposals):
        tell(f"weighing out {asked.tried} batches")
        balances = sources.worktable.settings.balances
        tried = [try_batches(p, request, balances, asked.tried, asked.limits) for p in outcome.proposals]
        outcome = replace(outcome, batches=tuple(tried))
    return outcome


def _without(sources: Sources, asked: Asked, ingredient: str) -> Request | None:
    """The same request with one ingredient of the base left out as well; None where that cannot be asked."""
    options = asked.options
    more = replace(options, leave_out=(*options.leave_out, Pick("ingredient", ingredient)))
    try:
        return request_for(sources, replace(asked, options=more))
    except (DataError, UsageError):
        return None


def answered(
    request: Request,
    base: tuple[Verdict, ...],
    asked: Asked,
    tell: Tell = silent,
    again: Again | None = None,
) -> Outcome:
    """The answer to a closed request; `again` as in `explain_impossible`."""
    found = search(
        request,
        alternatives=asked.alternatives,
        within=asked.within,
        limits=asked.limits,
        tell=tell,
        certify=asked.certify,
    )
    if found.proposals:
        return Proposals(request, base, found.proposals)
    if found.infeasible or found.off_grid:
        return explain_impossible(
            request,
            base,
            asked.limits,
            off_grid=found.off_grid,
            tell=tell,
            again=again,
        )
    return Undecided(request, base, found.why)


def check_formula(sources: Sources, formula: Formula, today: date | None = None) -> tuple[Verdict, ...]:
    """The judge on the formula as it stands, against its own targets and the standing rules."""
    request = close(sources, formula, None, Options(), today)
    return judge(request, request.base)


def as_it_stands(sources: Sources, formula: Formula, today: date | None = None) -> tuple[Proposal, Request]:
    """The formula as if proposed without a change: verdicts, measures, warnings, allergens."""
    request = close(sources, formula, None, Options(), today)
    return dress(request, request.base, ()), request


def broken_rules(verdicts: tuple[Verdict, ...]) -> tuple[Verdict, ...]:
    return broken(verdicts)


def _brief(sources: Sources, options: Options) -> Brief | None:
    """All named briefs as one, in the order given: later product facts and aims win."""
    whole: Brief | None = None
    for name in options.briefs:
        known = sources.worktable.briefs
        if name not in known:
            hint = did_you_mean(name, known) or f"there are: {', '.join(sorted(known))}"
            raise UsageError(f'no brief is called "{name}"', hint)
        one = resolve_brief(known, name)
        whole = one if whole is None else _joined(whole, one)
    return whole


def _joined(first: Brief, second: Brief) -> Brief:
    return Brief(
        id=f"{first.id}+{second.id}",
        name=f"{first.name} + {second.name}",
        product={**first.product, **second.product},
        leave_out=(*first.leave_out, *second.leave_out),
        instead_of=(*first.instead_of, *second.instead_of),
        only_from=second.only_from or first.only_from,
        targets=(*first.targets, *second.targets),
        accept={**first.accept, **second.accept},
        aim=second.aim or first.aim,
        place=first.place,
        firm=second.firm or first.firm,
    )


def _missing(request: Request) -> tuple[Problem, ...]:
    """Numbers that a fixed line of the base lacks and a rule needs."""
    found = []
    figures = sorted({r.figure for r in request.rules if isinstance(r, Mean)})
    for name in sorted(request.formula.ingredients):
        ingredient = request.ingredients[name]
        file, line = ingredient.place.file, ingredient.place.line
        found += [
            Problem(
                file, line, name, f"a value for {figure}", "none", f"add {name},{figure},… to properties.csv"
            )
            for figure in figures
            if ingredient.figure(figure) is None
        ]
        if ingredient.pack is None:
            found.append(Problem(file, line, name, "a price", "none", "fill pack_size and pack_price"))
    return tuple(found)
