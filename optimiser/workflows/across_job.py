"""One formula of a range: a plain function of folder, formula and what is asked, on any machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import cast

from optimiser.domain.across import FormulaAnswer, State
from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import Ingredient, Pack
from optimiser.domain.outcome import Impossible, Outcome, Proposal, Proposals, Undecided
from optimiser.domain.request import Request
from optimiser.domain.rules import Absent
from optimiser.domain.selector import Pick
from optimiser.errors import DataError, OptimiserError, RefusedError, UsageError
from optimiser.export.answer_words import gone_and_come
from optimiser.export.plain import clean
from optimiser.export.proposal_yaml import proposal_text
from optimiser.export.wording import sentence
from optimiser.problems import Problem
from optimiser.requests.narrow import new_only_from
from optimiser.requests.sources import Sources
from optimiser.search.effects import still_there
from optimiser.search.proposal import dress
from optimiser.units.numbers import NumberFault
from optimiser.units.quantities import read_price
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import answered, request_for
from optimiser.workflows.provenance import provenance_of
from optimiser.workflows.worktable import find, open_worktable

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Wishes:
    """What is asked of every formula. `said` as in `workflows.ask`; `prices` are (ingredient, price) as told.

    `on` is the day whose limits are in force. Where `narrowed`, nothing may come new but `only_new` ("" lets
    nothing come).
    """

    said: tuple[tuple[str, object], ...] = ()
    prices: tuple[tuple[str, str], ...] = ()
    on: date | None = None
    only_new: str = ""
    narrowed: bool = False


@dataclass(frozen=True, slots=True)
class Job:
    """`digest` is that of the worktable's files when the range was read; `label` names the worktable."""

    folder: str
    label: str
    formula: str
    digest: str
    wishes: Wishes = field(default_factory=Wishes)


@dataclass(frozen=True, slots=True)
class Done:
    """The answer, and the proposal as the file that a sheet can be made from (empty where there is none)."""

    job: Job
    answer: FormulaAnswer
    proposal: str = ""


@lru_cache(maxsize=4)
def read_once(folder: str, digest: str, wishes: Wishes) -> tuple[Sources, Sources]:
    """The worktable as it is, and as it is asked about; read once in each process that works on it.

    Raises OptimiserError where the files are not those the range was read from.
    """
    own = open_worktable(Path(folder))
    if digest and own.worktable.digest != digest:
        raise OptimiserError(f"the files of {folder} changed while the range was worked on", "run it again")
    return own, as_asked(own, wishes)


def as_asked(sources: Sources, wishes: Wishes) -> Sources:
    """The worktable with the prices and on the day that were asked. Raises UsageError."""
    table = sources.worktable
    ingredients = dict(table.ingredients)
    for word, price in wishes.prices:
        one = known_as(word, table.ingredients)
        if one is not None:
            ingredients[one.id] = priced(one, price, sources)
    settings = replace(table.settings, rules_date=wishes.on) if wishes.on else table.settings
    return replace(sources, worktable=replace(table, ingredients=ingredients, settings=settings), picked={})


def known_as(word: str, ingredients: Mapping[str, Ingredient]) -> Ingredient | None:
    """The ingredient of that id, name or alias; None where this worktable does not know it."""
    try:
        return find(word, ingredients, "ingredient")
    except UsageError:
        return None


def priced(ingredient: Ingredient, price: str, sources: Sources) -> Ingredient:
    """The ingredient at another price per weight, in packs of the same size."""
    settings = sources.worktable.settings
    found = read_price(price, settings.decimal, settings.currency)
    if isinstance(found, NumberFault):
        money, slash, weight = price.partition("/")
        found = read_price(
            f"{money.strip()} {settings.currency}{slash}{weight}", settings.decimal, settings.currency
        )
    if isinstance(found, NumberFault):
        hint = found.fix or f"write it as --price {ingredient.id}=12.50/kg"
        raise UsageError(f'"{price}" is no price for {ingredient.name}: it takes {found.expected}', hint)
    grams = ingredient.pack.grams if ingredient.pack else Fraction(1000)
    return replace(ingredient, pack=Pack(grams, found * grams / 1000))


def work(job: Job) -> Done:
    """Asks one formula. What stands in the way of asking is told in the answer; the range goes on."""
    plain = FormulaAnswer(job.label, job.formula, job.formula, "not asked")
    try:
        own, sources = read_once(job.folder, job.digest, job.wishes)
        formula = sources.worktable.formulas[job.formula]
        plain = replace(plain, name=clean(formula.name), currency=sources.worktable.settings.currency)
        before = cost_of(own, formula)
        plain = replace(plain, cost_before=before, cost_unchanged=cost_of(sources, formula))
        return _asked(job, sources, plain)
    except DataError as fault:
        return Done(job, replace(plain, why=first_of(fault)))
    except RefusedError as fault:
        return Done(job, replace(plain, why=sentence(f"not served: {fault.what}")))
    except OptimiserError as fault:
        return Done(job, replace(plain, why=sentence(fault.what)))
    except Exception as fault:
        text = f"a fault in the program ({type(fault).__name__}: {fault}); propose it alone to see more"
        return Done(job, replace(plain, why=sentence(text)))


def first_of(fault: DataError) -> str:
    """The first problem, and how many there are besides."""
    first = fault.problems[0]
    told = first.sentence() if isinstance(first, Problem) else str(first)
    more = len(fault.problems) - 1
    return sentence(told if not more else f"{told} (and {more} more)")


def cost_of(sources: Sources, formula: Formula) -> Fraction | None:
    """Material of the formula as it stands, per kg; None where a price is missing."""
    total = ZERO
    for _, line in formula.lines:
        price = sources.worktable.ingredients[line.ingredient].price_per_kg
        if price is None:
            return None
        total += price * line.percent / 100
    return total


def _asked(job: Job, sources: Sources, plain: FormulaAnswer) -> Done:
    asked = ask(sources, job.formula, said_here(job.wishes, sources, job.formula))
    request = limited(request_for(sources, asked), job.wishes)
    kept = as_it_is(request)
    outcome = Proposals(request, (), (kept,)) if kept else answered(request, (), asked)
    answer = told(plain, outcome)
    if not isinstance(outcome, Proposals):
        return Done(job, answer)
    first = outcome.proposals[0]
    answer = replace(answer, remarks=_still_there(first, request, sources))
    text = proposal_text(first, request, asked.options, provenance=provenance_of(sources, request))
    return Done(job, answer, text)


def _still_there(proposal: Proposal, request: Request, sources: Sources) -> tuple[str, ...]:
    """Where a substance that went, or was to be left out, is still brought by another line."""
    table = sources.worktable.ingredients
    kept = {line.ingredient for line in proposal.lines}
    picks = [rule.of for rule in request.rules if isinstance(rule, Absent)]
    asked = {of.name for of in picks if isinstance(of, Pick) and of.field == "ingredient"}
    gone = sorted(({slot.ingredient for slot in request.base} | asked) - kept)
    remarks = still_there([table[name] for name in gone], [table[name] for name in sorted(kept)])
    return tuple(clean(remark.text) for remark in remarks)


def said_here(wishes: Wishes, sources: Sources, formula: str) -> dict[str, object]:
    """What is asked of this formula.

    An ingredient that this worktable does not have is nothing to leave out, and one that the formula does not
    have is nothing to put another in place of.
    """
    said, table = dict(wishes.said), sources.worktable

    def words(key: str) -> tuple[str, ...]:
        return cast("tuple[str, ...]", said.get(key) or ())

    def held(word: str) -> bool:
        one = known_as(word, table.ingredients)
        return one is not None and one.id in table.formulas[formula].ingredients

    out = tuple(w for w in words("leave_out") if ":" in w or known_as(w, table.ingredients) is not None)
    swaps = [pair for pair in zip(words("instead_of"), words("use"), strict=True) if held(pair[0])]
    return {
        **said,
        "leave_out": out,
        "instead_of": tuple(gone for gone, _ in swaps),
        "use": tuple(come for _, come in swaps),
    }


def limited(request: Request, wishes: Wishes) -> Request:
    """The request in which nothing may come new but the one ingredient allowed."""
    return new_only_from(request, {wishes.only_new}) if wishes.narrowed else request


def as_it_is(request: Request) -> Proposal | None:
    """The base as a proposal, where it meets every rule and wish and nothing can be closer to it.

    With `closest` as the first aim and a departure of nothing no other formula is as good: half of each point
    moved counts as departure.
    """
    if request.aim[:1] != ("closest",):
        return None
    if any(slot not in request.slots for slot in request.base):
        return None
    proposal = dress(request, request.base, (), "Proposal")
    still = all(verdict.met for verdict in proposal.verdicts)
    return proposal if still and not sum((part for _, part in proposal.departure_parts), ZERO) else None


def told(plain: FormulaAnswer, outcome: Outcome) -> FormulaAnswer:
    """The outcome in the words of the range's table."""
    request = outcome.request
    match outcome:
        case Proposals():
            proposal = outcome.proposals[0]
            return _works(plain, proposal, request, "works" if proposal.changes else "as it is")
        case Impossible():
            return replace(plain, state="impossible", why=_clash(outcome), concession=_cheapest(outcome))
        case Undecided():
            return replace(plain, state="undecided", why=sentence(outcome.why))


def _works(plain: FormulaAnswer, proposal: Proposal, request: Request, state: State) -> FormulaAnswer:
    def names(which: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(sorted(clean(request.ingredients[one].name) for one in which))

    return replace(
        plain,
        state=state,
        departure=sum((part for _, part in proposal.departure_parts), ZERO),
        cost_after=proposal.cost_per_kg,
        went=names(tuple(c.ingredient for c in proposal.changes if c.before and not c.after)),
        came=names(tuple(c.ingredient for c in proposal.changes if c.after and not c.before)),
    )


def _cheapest(outcome: Impossible) -> str:
    """The smallest giving-way; taking back what was asked of the whole range comes last."""
    ranked = sorted(
        outcome.concessions, key=lambda way: (way.rule.head.id.startswith("asked#"), way.outside, way.steps)
    )
    if not ranked:
        return ""
    return sentence(ranked[0].sentence) + (
        gone_and_come(ranked[0], outcome.request) if ranked[0].lines else ""
    )


def _clash(outcome: Impossible) -> str:
    """The rules that cannot hold together, in one sentence."""
    rules = outcome.conflicts[0].rules if outcome.conflicts else ()
    parts = [sentence(rule.head.sentence).rstrip(".") for rule in rules]
    if not parts:
        return "No formula meets every rule."
    if len(parts) == 1:
        return f"This cannot be met: {parts[0]}."
    return f"These cannot all hold: {'; '.join(parts)}."
