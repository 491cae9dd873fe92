"""An answer on the terminal: proposals, or the clash and its cure, or why it is undecided."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from optimiser.cli.console import console, fixed, plain, short, signed, table
from optimiser.cli.show_batches import TITLE as BATCHES
from optimiser.cli.show_batches import batches_lines
from optimiser.cli.show_firmness import TITLE as FIRMNESS
from optimiser.cli.show_firmness import firmness_lines
from optimiser.domain.outcome import (
    Apart,
    Batches,
    Concession,
    Conflict,
    Impossible,
    Outcome,
    Proposal,
    Proposals,
    Stage,
    Undecided,
    Verdict,
)
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import MICROBES
from optimiser.export.plain import digits_of
from optimiser.requests.sentences import first_upper
from optimiser.search.labelling import TITLE, allergen_sentences

ZERO = Fraction(0)
CLOSE = Fraction(1, 1000)
MOST_REASONS, MOST_NAMES, MOST_MOVED = 4, 3, 5
BEYOND = "What would help beyond what you asked"


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
        _item(out, f"{verdict.rule.head.sentence}{has}")


def _item(out: Any, text: str, indent: int = 2) -> None:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row("-", Text(plain(text)))
    out.print(Padding(grid, (0, 0, 0, indent)))


def _items(out: Any, title: str, texts: Iterable[str]) -> None:
    found = [text for text in texts if text]
    if found:
        out.print()
        out.print(title, style="bold")
        for text in found:
            _item(out, text)


def _proposal(out: Any, proposal: Proposal, request: Request) -> None:
    out.print()
    out.print(plain(proposal.heading), style="bold")
    out.print(plain(_summary(proposal, request)))
    out.print()
    out.print(_lines(proposal, request))
    _items(out, "Gone, and what does its work now", _roles(proposal, request))
    _items(out, "Why", _reasons(proposal, request))
    out.print()
    out.print(_measures(proposal))
    _items(out, "Wishes not met in full", (_short_by(v) for v in proposal.unmet_wishes))
    _items(out, "Let go", (r.text for r in request.dropped))
    _items(out, "What this change sets off", (f"{first_upper(r.about)}: {r.text}" for r in proposal.sets_off))
    _items(out, "Mind", (r.text for r in proposal.warnings))
    _items(out, "Check by hand", (r.text for r in request.by_hand))
    _items(out, "Rests on assumed numbers", (first_upper(r.text) for r in proposal.rests_on))
    _items(out, TITLE, allergen_sentences(proposal, request))
    _items(out, "On paper only", (*_coverage(proposal), *(r.text for r in proposal.on_paper)))


def show_told(proposal: Proposal, request: Request, batches: Batches | None = None) -> None:
    """What a formula has as it stands: measures, warnings, allergens, what is on paper only, batches."""
    out = console()
    out.print()
    rows = []
    for one in proposal.measures:
        apart = one.low is not None and one.low != one.high
        spread = f"{short(one.low)} to {short(one.high)}" if apart else ""
        digits = digits_of(one.name, one.unit)
        rows.append((first_upper(one.name), fixed(one.value, digits), one.unit, spread))
    out.print(table(("Measure", "Has", "Unit", "Over the spread of the data"), rows, right=(1,)))
    _items(out, "Mind", (r.text for r in proposal.warnings))
    _items(out, TITLE, allergen_sentences(proposal, request))
    _items(out, "On paper only", (r.text for r in proposal.on_paper))
    if batches is not None:
        _items(out, BATCHES, batches_lines(batches, request.batch_g))


def _summary(proposal: Proposal, request: Request) -> str:
    departure = sum((part for _, part in proposal.departure_parts), ZERO)
    parts = ", ".join(f"{name} {short(part, 2)}" for name, part in proposal.departure_parts if part)
    cost = (
        f"{fixed(proposal.cost_per_kg, 2)} {request.currency}/kg"
        if proposal.cost_per_kg is not None
        else "not known"
    )
    first = next((s for s in proposal.stages if not s.name.startswith("wishes")), None)
    proved = _proved(first) if first is not None else ""
    if first is not None and proposal.apart:
        proved = f" The least {first.name} is {short(first.bound)}; this one has {short(first.value)}."
    moved = f"Departure from the base {short(departure, 2)} points ({parts or 'none'})."
    return f"{moved} Material cost {cost}.{proved}{_apart(proposal.apart)}"


def _apart(differences: tuple[Apart, ...]) -> str:
    """How far an alternative is from the first answer, and from the nearest before it."""
    if not differences:
        return ""
    first, nearest = differences[0], min(differences, key=lambda one: (one.ingredients, one.points))
    verb = "differs" if first.ingredients == 1 else "differ"
    told = (
        f" From the first answer {first.ingredients} of {first.among} ingredients {verb}"
        f" and {short(first.points, 2)} points moved"
    )
    beside = f"; from the nearest before it {nearest.ingredients} of {nearest.among}"
    return f"{told}{beside if len(differences) > 1 else ''}."


def _proved(stage: Stage) -> str:
    """What is known of the first aim; where the bound and what was reached differ, both are said."""
    if not stage.optimal and not stage.bound:
        return " Not proved the best."
    if not stage.optimal:
        least = f"no formula has {_less(stage.name)} than {short(stage.bound)}"
        return f" Not proved the best: {stage.name} {short(stage.value)}; {least}."
    apart = abs(stage.value - stage.bound) > CLOSE * max(Fraction(1), abs(stage.bound))
    this = f"; this one has {short(stage.value)}" if apart else ""
    return f" Proved: no formula has {_less(stage.name)} {stage.name} than {short(stage.bound)}{this}."


def _less(stage: str) -> str:
    return "fewer" if stage in ("lines changed", "ingredients") else "less"


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


def _roles(proposal: Proposal, request: Request) -> list[str]:
    found = []
    for answer in proposal.roles:
        name = request.ingredients[answer.removed].name
        now = "; ".join(f"{request.ingredients[i].name} {short(share)} %" for i, share in answer.now)
        found.append(f"{name} ({answer.role}): {now or 'no line has this role now'}")
    return found


def _reasons(proposal: Proposal, request: Request) -> list[str]:
    found = []
    for change in proposal.changes:
        name = request.ingredients[change.ingredient].name
        if change.reasons:
            found.append(
                f"{name} {short(change.before)} → {short(change.after)} %: {' '.join(change.reasons)}"
            )
    return found


def _measures(proposal: Proposal) -> object:
    rows = []
    for measure in proposal.measures:
        spread = ""
        if measure.low is not None and measure.high is not None and measure.low != measure.high:
            spread = f"{short(measure.low)} to {short(measure.high)}"
        name, digits = first_upper(measure.name), digits_of(measure.name, measure.unit)
        rows.append((name, fixed(measure.base, digits), fixed(measure.value, digits), measure.unit, spread))
    return table(("Measure", "Base", "New", "Unit", "Over the spread of the data"), rows, right=(1, 2))


def _short_by(verdict: Verdict) -> str:
    by = f" Missed by {short(abs(verdict.margin))} {verdict.unit}" if verdict.margin is not None else ""
    of = f" ({verdict.note})" if verdict.note else ""
    return f"{verdict.rule.head.sentence} (rank {verdict.rule.head.rank}){by}{of}{'.' if by or of else ''}"


def _usual_order(group: str) -> tuple[int, str]:
    return (MICROBES.index(group) if group in MICROBES else len(MICROBES)), group


def _coverage(proposal: Proposal) -> list[str]:
    from optimiser.domain.rules import Covers

    covered = [v.rule for v in proposal.verdicts if isinstance(v.rule, Covers) and v.met]
    if not covered:
        return []
    groups = ", ".join(sorted({rule.group for rule in covered}, key=_usual_order))
    top = next((rule.ph_top for rule in covered if rule.ph_top is not None), None)
    where = f" at pH up to {short(top)}" if top is not None else ""
    return [
        f"Covers {groups} on paper{where}. Only a challenge test shows whether it holds.",
        "Patch test first. Selling asks for a qualified safety assessment under local law.",
    ]


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
    out.print(_verdict(outcome), style="bold")
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


def _verdict(outcome: Impossible) -> str:
    """Where less than a printed step is missing, what is possible stands in the same sentence."""
    agreed = " and ".join(outcome.agreed)
    found = f"no formula meets every must (found by {agreed})."
    near = min((c for c in outcome.concessions if not c.outside), key=lambda c: c.steps, default=None)
    if not outcome.nearly:
        return f"Impossible: {found}"
    possible = f"; possible with {near.enough}" if near is not None and near.asked else ""
    return f"Impossible as written{possible}: {found}"


def _unknown(out: Any, unknown: Iterable[Remark]) -> None:
    """What nobody has told, before the verdict: it may be all that is missing."""
    told = (f"{remark.text}{f' [{remark.source}]' if remark.source else ''}" for remark in unknown)
    _items(out, "Not known", told)


def _ways(out: Any, title: str, found: list[Concession], request: Request) -> None:
    """Each concession, and in short the formula it gives; the one told in full follows below."""
    _items(out, title, (f"{one.sentence}{_in_short(one, request)}" for one in found))


def _in_short(concession: Concession, request: Request) -> str:
    if not concession.lines:
        return ""
    cost = concession.cost_per_kg
    price = f" It costs {fixed(cost, 2)} {request.currency}/kg" if cost is not None else " Its formula"
    if concession.proposal is not None:
        return f"{price} (in full below)."
    before = {name: request.base_of(name) for name in {slot.ingredient for slot in request.base}}
    now = dict(concession.lines)
    changed = [i for i in sorted({*before, *now}) if now.get(i, ZERO) != before.get(i, ZERO)]
    moved = sorted(changed, key=lambda i: (-abs(now.get(i, ZERO) - before.get(i, ZERO)), i))
    told = [
        f"{request.ingredients[i].name if i in request.ingredients else i.replace('-', ' ')} "
        f"{short(before.get(i, ZERO))} → {short(now.get(i, ZERO))} %"
        for i in moved[:MOST_MOVED]
    ]
    if not told:
        return f"{price}: the base as it stands."
    return f"{price}: {', '.join(told)}{', …' if len(moved) > MOST_MOVED else ''}."


def _conflict(out: Any, conflict: Conflict) -> None:
    out.print()
    out.print(_clashing(conflict))
    best = {remark.about: remark.text for remark in conflict.best}
    for rule in conflict.rules:
        source = f" [{rule.head.source}]" if rule.head.source else ""
        _item(out, f"{rule.head.sentence}{source}")
        if rule.head.id in best:
            _item(out, _but_last(best[rule.head.id]), 4)
    for text in conflict.told:
        _item(out, text)
    if conflict.certified:
        out.print("  The contradiction was summed up in exact fractions.")


def _clashing(conflict: Conflict) -> str:
    count = len(conflict.rules)
    if count == 1:
        return "This rule alone cannot hold:"
    either = "either" if count == 2 else "any one"
    rest = "other can" if count == 2 else "others can"
    return f"These {count} rules cannot hold together" + (
        f" (drop {either} of them and the {rest}):" if conflict.minimal else ":"
    )


def _but_last(text: str) -> str:
    """What a member asks stands just above it: where nothing else is said, the last sentence is enough."""
    last = text.rpartition(". ")[2]
    return last if last.startswith(("However far", "It is the law", "It is a matter")) else text


def _undecided(out: Any, outcome: Undecided) -> None:
    _unknown(out, outcome.unknown)
    out.print()
    out.print(f"Undecided: {outcome.why}.", style="bold")
    _items(out, "It rests on", (first_upper(r.text) for r in outcome.rests_on))
    _ways(out, BEYOND, list(outcome.concessions), outcome.request)
