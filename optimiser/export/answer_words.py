"""Sentences about an answer, the same on the terminal and on the page."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.outcome import (
    Apart,
    Concession,
    Conflict,
    Impossible,
    Proposal,
    Stage,
    Undecided,
    Verdict,
)
from optimiser.domain.request import Request
from optimiser.domain.rules import MICROBES, Covers
from optimiser.explain.impossible import NOT_AGREED, NOT_DECIDED, OFF_GRID
from optimiser.export.figures import fixed, short

ZERO = Fraction(0)
CLOSE = Fraction(1, 1000)
MOST_MOVED = 5
LOOK_UP = (
    "Read one of these numbers, or look it up on the supplier's paper, and write it down with its source; "
    "then ask again."
)
STUCK = "Another aim may lead to a formula. Or ask for less at once."
TRY_IT = "A trial tells what no prediction can. Or give a limit that it stands on more room."
BEYOND = "What would help beyond what you asked"


def summary(proposal: Proposal, request: Request) -> str:
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
    if _as_the_base(proposal):
        same = "Nothing has to change." if first and first.name == "departure" else "Nothing changes."
        moved = f"{same} {moved}" if departure else same
    return f"{moved} Material cost {cost}.{proved}{_apart(proposal.apart)}"


def _as_the_base(proposal: Proposal) -> bool:
    return not proposal.changes and all(line.moved == 0 for line in proposal.lines)


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
    how = "Proved in fractions" if stage.proved is not None else "Proved"
    return f" {how}: no formula has {_less(stage.name)} {stage.name} than {short(stage.bound)}{this}."


def _less(stage: str) -> str:
    return "fewer" if stage in ("lines changed", "ingredients") else "less"


def roles(proposal: Proposal, request: Request) -> list[str]:
    found = []
    for answer in proposal.roles:
        name = request.ingredients[answer.removed].name
        now = "; ".join(f"{request.ingredients[i].name} {short(share)} %" for i, share in answer.now)
        found.append(f"{name} ({answer.role.replace('-', ' ')}): {now or 'no line has this role now'}")
    return found


def reasons(proposal: Proposal, request: Request) -> list[str]:
    found = []
    for change in proposal.changes:
        name = request.ingredients[change.ingredient].name
        if change.reasons:
            found.append(
                f"{name} {short(change.before)} → {short(change.after)} %: {' '.join(change.reasons)}"
            )
    return found


def short_by(verdict: Verdict) -> str:
    by = f" Missed by {short(abs(verdict.margin))} {verdict.unit}" if verdict.margin is not None else ""
    of = f" ({verdict.note})" if verdict.note else ""
    return f"{verdict.rule.head.sentence} (rank {verdict.rule.head.rank}){by}{of}{'.' if by or of else ''}"


def _usual_order(group: str) -> tuple[int, str]:
    return (MICROBES.index(group) if group in MICROBES else len(MICROBES)), group


def coverage(proposal: Proposal) -> list[str]:
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


def verdict_of(outcome: Impossible) -> str:
    """Where less than a printed step is missing, what is possible stands in the same sentence."""
    agreed = " and ".join(outcome.agreed)
    found = f"no formula meets every must (found by {agreed})."
    near = min((c for c in outcome.concessions if not c.outside), key=lambda c: c.steps, default=None)
    if not outcome.nearly:
        return f"Impossible: {found}"
    possible = f"; possible with {near.enough}" if near is not None and near.asked else ""
    return f"Impossible as written{possible}: {found}"


def then_of(outcome: Undecided) -> str:
    """What helps where neither a formula nor a proof was found; nothing where ways out are told."""
    if outcome.rests_on:
        return LOOK_UP
    if outcome.concessions:
        return ""
    return STUCK if outcome.why in (OFF_GRID, NOT_DECIDED, NOT_AGREED) else TRY_IT


def in_short(concession: Concession, request: Request) -> str:
    """What the way out costs, its largest moves, and how many ingredients go and come with it."""
    if not concession.lines:
        return ""
    return _price_and_moves(concession, request) + gone_and_come(concession, request)


def gone_and_come(concession: Concession, request: Request) -> str:
    """`8 ingredients go, 3 come`, of its formula beside the base; nothing where the lines are the same."""
    before = {slot.ingredient for slot, share in request.base.items() if share}
    now = {ingredient for ingredient, share in concession.lines if share}
    gone, come = len(before - now), len(now - before)
    if not gone and not come:
        return ""
    first, verb = (gone, "go") if gone else (come, "come")
    told = f" {first} ingredient{'' if first == 1 else 's'} {_verb(verb, first)}"
    return f"{told}, {come} {_verb('come', come)}." if gone and come else f"{told}."


def _verb(verb: str, count: int) -> str:
    return verb if count != 1 else {"go": "goes", "come": "comes"}[verb]


def _price_and_moves(concession: Concession, request: Request) -> str:
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


def clashing(conflict: Conflict) -> str:
    count = len(conflict.rules)
    if count == 1:
        return "This rule alone cannot hold:"
    either = "either" if count == 2 else "any one"
    rest = "other can" if count == 2 else "others can"
    return f"These {count} rules cannot hold together" + (
        f" (drop {either} of them and the {rest}):" if conflict.minimal else ":"
    )


def but_last(text: str) -> str:
    """What a member asks stands just above it: where nothing else is said, the last sentence is enough."""
    last = text.rpartition(". ")[2]
    return last if last.startswith(("However far", "It is the law", "It is a matter")) else text
