"""An answer on the terminal: proposals, or the clash and its cure, or why it is undecided."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from optimiser.cli.console import console, fixed, plain, point, short, signed, table
from optimiser.cli.show_batches import TITLE as BATCHES
from optimiser.cli.show_batches import batches_lines
from optimiser.cli.show_firmness import TITLE as FIRMNESS
from optimiser.cli.show_firmness import firmness_lines
from optimiser.domain.outcome import (
    Batches,
    Concession,
    Conflict,
    Impossible,
    Outcome,
    Proposal,
    Proposals,
    Undecided,
    Verdict,
)
from optimiser.domain.request import Remark, Request
from optimiser.export.answer_words import (
    BEYOND,
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
from optimiser.export.figures import spread_words
from optimiser.export.plain import digits_of
from optimiser.export.verdict_words import told
from optimiser.requests.sentences import first_upper
from optimiser.search.labelling import TITLE, allergen_sentences

ZERO = Fraction(0)
MOST_REASONS, MOST_NAMES = 4, 3


def show_outcome(outcome: Outcome) -> None:
    """Prints the answer to standard output."""
    out = console()
    out.print(plain(outcome.request.name), style="bold")
    _base(out, outcome.base)
    match outcome:
        case Proposals():
            for proposal in outcome.proposals:
                _proposal(out, proposal, outcome.request)
            _firmness(out, outcome)
            _batches(out, outcome)
            _not_considered(out, outcome.request)
        case Impossible():
            _impossible(out, outcome)
            _firmness(out, outcome)
        case Undecided():
            _undecided(out, outcome)
            _firmness(out, outcome)


def _batches(out: Any, outcome: Proposals) -> None:
    for proposal, found in zip(outcome.proposals, outcome.batches, strict=False):
        which = f": {proposal.heading}" if len(outcome.proposals) > 1 else ""
        _items(out, f"{BATCHES}{which}", batches_lines(found, outcome.request.batch_g))


def _firmness(out: Any, outcome: Outcome) -> None:
    _items(out, FIRMNESS, firmness_lines(outcome.firmness, outcome.request.currency))


def _base(out: Any, verdicts: tuple[Verdict, ...]) -> None:
    broken = [v for v in verdicts if not v.met and v.rule.head.rank is None]
    if not broken:
        out.print("The base as it stands meets all of its own rules.")
        return
    out.print(f"Your own formula already breaks {len(broken)} rule{'' if len(broken) == 1 else 's'}:")
    for verdict in broken:
        has = f" It has {short(verdict.value)} {verdict.unit}." if verdict.value is not None else ""
        point(out, f"{told(verdict)}{has}")


def _items(out: Any, title: str, texts: Iterable[str]) -> None:
    found = [text for text in texts if text]
    if found:
        out.print()
        out.print(title, style="bold")
        for text in found:
            point(out, text)


def _proposal(out: Any, proposal: Proposal, request: Request) -> None:
    out.print()
    out.print(plain(proposal.heading), style="bold")
    out.print(plain(summary(proposal, request)))
    out.print()
    out.print(_lines(proposal, request))
    _items(out, "Gone, and what does its work now", roles(proposal, request))
    _items(out, "Why", reasons(proposal, request))
    out.print()
    out.print(_measures(proposal))
    _items(out, "Wishes not met in full", (short_by(v) for v in proposal.unmet_wishes))
    _items(out, "Let go", (r.text for r in request.dropped))
    _items(out, "What this change sets off", (f"{first_upper(r.about)}: {r.text}" for r in proposal.sets_off))
    _items(out, "Mind", (r.text for r in proposal.warnings))
    _items(out, "Check by hand", (r.text for r in request.by_hand))
    _items(out, "Rests on assumed numbers", (first_upper(r.text) for r in proposal.rests_on))
    _items(out, TITLE, allergen_sentences(proposal, request))
    _items(out, "On paper only", (*coverage(proposal), *(r.text for r in proposal.on_paper)))


def show_told(proposal: Proposal, request: Request, batches: Batches | None = None) -> None:
    """What a formula has as it stands: measures, warnings, allergens, what is on paper only, batches."""
    out = console()
    out.print()
    rows = []
    for one in proposal.measures:
        spread = spread_words(one.low, one.high)
        digits = digits_of(one.name, one.unit)
        rows.append((first_upper(one.name), fixed(one.value, digits), one.unit, spread))
    out.print(table(("Measure", "Has", "Unit", "Over the spread of the data"), rows, right=(1,)))
    _items(out, "Mind", (r.text for r in proposal.warnings))
    _items(out, TITLE, allergen_sentences(proposal, request))
    _items(out, "On paper only", (r.text for r in proposal.on_paper))
    if batches is not None:
        _items(out, BATCHES, batches_lines(batches, request.batch_g))


def _lines(proposal: Proposal, request: Request) -> object:
    titles = {phase.name: phase.title for phase in request.formula.phases}
    rows, phase = [], ""
    for line in proposal.lines:
        if line.phase != phase:
            phase = line.phase
            rows.append((f"{phase}  {titles.get(phase, '')}", "", "", ""))
        name = request.ingredients[line.ingredient].name
        mark = f" (at most; to {line.dosed.to})" if line.dosed else " (to 100 %)" if line.fills else ""
        new = "new" if not line.base else signed(line.moved)
        rows.append((f"   {name}{mark}", fixed(line.base) if line.base else "–", fixed(line.percent), new))
    gone = [
        (slot, base)
        for slot, base in sorted(request.base.items())
        if not any((p.ingredient, p.phase) == (slot.ingredient, slot.phase) for p in proposal.lines)
    ]
    if gone:
        rows.append(("Out", "", "", ""))
        rows += [(f"   {request.ingredients[s.ingredient].name}", fixed(b), "–", "out") for s, b in gone]
    rows.append(
        (
            "Total",
            fixed(sum(request.base.values(), ZERO)),
            fixed(sum((p.percent for p in proposal.lines), ZERO)),
            "",
        )
    )
    return table(("Ingredient", "Base %", "New %", "Change"), rows, right=(1, 2, 3))


def _measures(proposal: Proposal) -> object:
    rows = []
    for measure in proposal.measures:
        spread = spread_words(measure.low, measure.high)
        name, digits = first_upper(measure.name), digits_of(measure.name, measure.unit)
        rows.append((name, fixed(measure.base, digits), fixed(measure.value, digits), measure.unit, spread))
    return table(("Measure", "Base", "New", "Unit", "Over the spread of the data"), rows, right=(1, 2))


def _not_considered(out: Any, request: Request) -> None:
    """Ingredients set aside, by reason: the commonest reasons first, a few names each."""
    aside: dict[str, list[str]] = {}
    for item in request.set_aside:
        aside.setdefault(item.reason, []).append(item.name or item.ingredient)
    reasons = sorted(aside, key=lambda reason: (-len(aside[reason]), reason))
    told = [f"{_some(aside[reason])}: {reason}." for reason in reasons[:MOST_REASONS]]
    if len(reasons) > MOST_REASONS:
        told.append("For other reasons: see --json.")
    count = len(request.set_aside)
    _items(out, f"Not considered: {count} ingredient{'' if count == 1 else 's'}", told)


def _some(names: list[str]) -> str:
    more = len(names) - MOST_NAMES
    return "; ".join(names[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def _impossible(out: Any, outcome: Impossible) -> None:
    _unknown(out, outcome.unknown)
    out.print()
    out.print(verdict_of(outcome), style="bold")
    for conflict in outcome.conflicts:
        _conflict(out, conflict)
    inside = [c for c in outcome.concessions if not c.outside]
    if not inside:
        out.print()
        out.print("No single concession among these cures it: more than one rule has to give way.")
    _ways(out, "What would cure it, smallest first", inside, outcome.request)
    _ways(out, BEYOND, [c for c in outcome.concessions if c.outside], outcome.request)
    first = next((c.proposal for c in outcome.concessions if c.proposal is not None), None)
    if first is not None:
        _proposal(out, first, outcome.request)


def _unknown(out: Any, unknown: Iterable[Remark]) -> None:
    """What nobody has told, before the verdict: it may be all that is missing."""
    told = (f"{remark.text}{f' [{remark.source}]' if remark.source else ''}" for remark in unknown)
    _items(out, "Not known", told)


def _ways(out: Any, title: str, found: list[Concession], request: Request) -> None:
    """Each concession, and in short the formula it gives; the one told in full follows below."""
    _items(out, title, (f"{one.sentence}{in_short(one, request)}" for one in found))


def _conflict(out: Any, conflict: Conflict) -> None:
    out.print()
    out.print(clashing(conflict))
    best = {remark.about: remark.text for remark in conflict.best}
    for rule in conflict.rules:
        source = f" [{rule.head.source}]" if rule.head.source else ""
        point(out, f"{rule.head.sentence}{source}")
        if rule.head.id in best:
            point(out, but_last(best[rule.head.id]), 4)
    for text in conflict.told:
        point(out, text)
    if conflict.certified:
        out.print("  The contradiction was summed up in exact fractions.")


def _undecided(out: Any, outcome: Undecided) -> None:
    _unknown(out, outcome.unknown)
    out.print()
    out.print(f"Undecided: {outcome.why}.", style="bold")
    _items(out, "It rests on", (first_upper(r.text) for r in outcome.rests_on))
    _ways(out, BEYOND, list(outcome.concessions), outcome.request)
    if then := then_of(outcome):
        out.print()
        out.print(then)
