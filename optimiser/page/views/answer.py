"""The answer: the proposal beside the base, or the conflict and its cures, or why there is none yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from optimiser.domain.outcome import Concession, Conflict, Impossible, Proposal, Proposals, Undecided
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import Level
from optimiser.explain.impossible import NOT_AGREED, NOT_DECIDED, OFF_GRID, SETTLES
from optimiser.explain.names import label, told_apart
from optimiser.export.answer_words import (
    but_last,
    clashing,
    coverage,
    in_short,
    reasons,
    roles,
    short_by,
    summary,
    then_of,
    verdict_of,
)
from optimiser.loading.described import OWNED
from optimiser.page.addresses import screen_of
from optimiser.page.views.asks import AIM_WORDS
from optimiser.page.views.figures import Figures
from optimiser.page.views.formula import (
    Facts,
    LineRow,
    PhaseBlock,
    blocks_of,
    cost_text,
    facts_of,
    gone_of,
)
from optimiser.page.views.rules import RuleTable, rule_table
from optimiser.requests.sentences import first_upper

LEAPS = {
    "running": "The answer is under way",
    "fault": "There is no answer: see why",
    "stopped": "Stopped",
    "proposals": "To the formula",
    "impossible": "Impossible as asked: to the ways out",
    "undecided": "Undecided: to what may help",
}
"""What leads to the answer, where that lies below all fields."""
TWO_COUNTS = (
    "The level of thickening may be kept all the same: it counts the strength of the thickeners in cold "
    "water alone, what is foretold reckons with powders, salt and shear as well."
)


@dataclass(frozen=True, slots=True)
class Note:
    """A title and what is said under it."""

    title: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """One proposal: what goes and comes, why, what it sets off."""

    heading: str
    summary: str
    cost: str
    blocks: tuple[PhaseBlock, ...]
    gone: tuple[LineRow, ...]
    changed: tuple[Note, ...]
    sets_off: tuple[Note, ...]
    rules: RuleTable
    facts: Facts


@dataclass(frozen=True, slots=True)
class CureRow:
    """`press` is what the button says, empty where a press cannot do it; `number` tells which it is."""

    number: int
    sentence: str
    press: str
    short: str


@dataclass(frozen=True, slots=True)
class ClashBlock:
    title: str
    members: tuple[tuple[str, str, str], ...]
    told: tuple[str, ...]
    certified: bool


@dataclass(frozen=True, slots=True)
class Lacking:
    """What nobody told or looked up, and the place `at` where the ingredient called `name` tells it.

    `decides`: the verdict would turn at another value of it alone.
    """

    text: str
    name: str
    at: str
    decides: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """`kind`: running, fault, stopped, proposals, impossible, undecided.

    `again`: it may come further when the same is asked anew; `aims`: with one of these it may. `rests` are
    numbers that nobody looked up, `then` says in a sentence what else would help.
    """

    kind: str
    told: str = ""
    fix: str = ""
    problems: tuple[str, ...] = ()
    shown: tuple[Shown, ...] = ()
    conflicts: tuple[ClashBlock, ...] = ()
    cures: tuple[CureRow, ...] = ()
    unknown: tuple[Lacking, ...] = ()
    rests: tuple[Lacking, ...] = ()
    then: str = ""
    aims: tuple[tuple[str, str], ...] = ()
    again: bool = False

    @property
    def leap(self) -> str:
        """What leads to it from afar."""
        return LEAPS[self.kind]


def outcome_shown(outcome: Any, figures: Figures) -> Answer:
    """Proposals, or what stands in their way."""
    match outcome:
        case Proposals() as found:
            return Answer(
                "proposals", shown=tuple(shown_of(p, found.request, figures) for p in found.proposals)
            )
        case Impossible() as found:
            return _impossible(found, figures)
        case Undecided() as found:
            return _undecided(found)
    return Answer("fault", "There is no answer.", "ask again")


def shown_of(proposal: Proposal, request: Request, figures: Figures) -> Shown:
    facts = facts_of(proposal, request, figures)
    return Shown(
        proposal.heading,
        summary(proposal, request),
        cost_text(proposal, request, figures),
        blocks_of(proposal, request, figures),
        gone_of(proposal, request, figures),
        _notes(
            ("Gone, and what does its work now", roles(proposal, request)),
            ("Why", reasons(proposal, request)),
            ("Wishes not met in full", [short_by(v) for v in proposal.unmet_wishes]),
            ("Let go", [r.text for r in request.dropped]),
        ),
        _sets_off(proposal, request, facts),
        rule_table(proposal, figures),
        facts,
    )


def _sets_off(proposal: Proposal, request: Request, facts: Facts) -> tuple[Note, ...]:
    to_do = [_to_do(one, request) for one in proposal.sets_off]
    return _notes(
        ("To do because of the change", to_do),
        ("Mind", [r.text for r in proposal.warnings]),
        ("Check by hand", [r.text for r in request.by_hand]),
        ("Rests on assumed numbers", [first_upper(r.text) for r in proposal.rests_on]),
        ("Allergens to name on the label", list(facts.allergens)),
        ("On paper only", [*coverage(proposal), *(r.text for r in proposal.on_paper)]),
    )


def _to_do(remark: Remark, request: Request) -> str:
    """What is foretold of the thickness stands beside a kept level of thickening: why both may be so."""
    levels = any(isinstance(rule, Level) and rule.strength == "thickening" for rule in request.rules)
    foretold = remark.about == "thickness" and remark.text.startswith("Foretold ")
    beside = f" {TWO_COUNTS}" if levels and foretold else ""
    return f"{first_upper(remark.about)}: {remark.text}{beside}"


def _notes(*found: tuple[str, Any]) -> tuple[Note, ...]:
    return tuple(Note(title, tuple(t for t in texts if t)) for title, texts in found if any(texts))


def _impossible(found: Impossible, figures: Figures) -> Answer:
    full = [one.proposal for one in found.concessions if one.proposal is not None]
    return Answer(
        "impossible",
        verdict_of(found),
        shown=tuple(shown_of(one, found.request, figures) for one in full[:1]),
        conflicts=tuple(_clash(one) for one in found.conflicts),
        cures=_cures(found.concessions, found.request),
        unknown=_lacking(found.unknown, found.request),
    )


def _undecided(found: Undecided) -> Answer:
    stuck = found.why in (OFF_GRID, NOT_DECIDED)
    return Answer(
        "undecided",
        f"Undecided: {found.why}.",
        conflicts=tuple(_clash(one) for one in found.conflicts),
        cures=_cures(found.concessions, found.request),
        unknown=_lacking(found.unknown, found.request),
        rests=_lacking(found.rests_on, found.request),
        then="" if found.rests_on or stuck else then_of(found),
        aims=tuple(AIM_WORDS.items()) if stuck else (),
        again=found.why in (NOT_AGREED, NOT_DECIDED),
    )


def _lacking(remarks: tuple[Remark, ...], request: Request) -> tuple[Lacking, ...]:
    """In the order of the remarks, those that decide alone first; what settles each is said above them."""
    found = []
    for one in remarks:
        text, settles, turn = one.text.partition(f" {SETTLES}")
        found.append(Lacking(first_upper(f"{text}{turn}"), *_where(one, request), bool(settles and turn)))
    return tuple(sorted(found, key=lambda one: not one.decides))


def _where(remark: Remark, request: Request) -> tuple[str, str]:
    """The ingredient's name and the address where it tells of itself; nothing for no ingredient."""
    known = request.ingredients.get(remark.about) or request.lenders.get(remark.about)
    aside = (one.name for one in request.set_aside if one.ingredient == remark.about)
    name = known.name if known else next(aside, "")
    if not name:
        return "", ""
    parts = known.composition or () if known else ()
    made_of = any(remark.text.startswith(f"{part.substance} in ") for part in parts)
    named = [table for table in OWNED if f"{table}.csv" in remark.text]
    table = named[0] if named else "composition" if made_of else "" if ".csv" in remark.text else "properties"
    return name, f"{screen_of(remark.about)}{'#' if table else ''}{table}"


def _clash(conflict: Conflict) -> ClashBlock:
    best = {remark.about: but_last(remark.text) for remark in conflict.best}
    members = tuple((r.head.sentence, r.head.source, best.get(r.head.id, "")) for r in conflict.rules)
    return ClashBlock(clashing(conflict), members, conflict.told, conflict.certified)


def _cures(concessions: tuple[Concession, ...], request: Request) -> tuple[CureRow, ...]:
    return tuple(
        CureRow(number, one.sentence, press, in_short(one, request).strip())
        for number, (one, press) in enumerate(zip(concessions, presses_of(concessions), strict=True))
    )


def presses_of(concessions: tuple[Concession, ...]) -> tuple[str, ...]:
    """What each button says, no two the same; nothing where it is to be done at the table."""
    pressed = [one for one in concessions if press_of(one)]
    texts = iter(told_apart([press_of(one) for one in pressed], [one.rule for one in pressed]))
    return tuple(next(texts) if press_of(one) else "" for one in concessions)


def press_of(one: Concession) -> str:
    """What a press does, in the words of the button; nothing where it is to be done at the table."""
    if one.together:
        return "Allow all of these together"
    if one.leave:
        return f"{one.enough[:1].upper()}{one.enough[1:]}"
    if one.new is None and one.outside:
        return ""
    if one.new is None:
        return f"Give up: {label(one.rule)[:1].lower()}{label(one.rule)[1:]}"
    if one.back:
        return f"{one.enough[:1].upper()}{one.enough[1:]}"
    return f"Allow {label(one.rule)[:1].lower()}{label(one.rule)[1:]}: {one.enough}"
