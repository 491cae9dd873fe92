"""The allergen line of the label: what it has to name, what a change does to it, what was not counted."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from optimiser.checks.allergens import allergens, not_counted
from optimiser.checks.amounts import Amounts
from optimiser.domain.outcome import Allergen, Proposal
from optimiser.domain.request import Remark, Request

TITLE = "Allergens to name on the label"
DIGITS = 3
UNKNOWN = "make-up not known, ask the seller for the allergens"


def allergen_line(request: Request, base: Amounts, now: Amounts) -> list[Remark]:
    """Which names come on the label and which go: base and proposal, each by its product's threshold."""
    before = _named(allergens(request.labels_before, base))
    after = _named(allergens(request.labels, now))
    came = [f"{one.substance} ({percent(one.percent)} %)" for n, one in after.items() if n not in before]
    went = [name for name in before if name not in after]
    unknown = [request.ingredients[n].name for n in not_counted(now) if n not in not_counted(base)]
    parts = [
        f"to be named now: {', '.join(came)}" if came else "",
        f"no longer: {', '.join(went)}" if went else "",
        f"not counted, {UNKNOWN}: {', '.join(unknown)}" if unknown and request.labels else "",
    ]
    text = "; ".join(filter(None, parts))
    source = next(iter(after.values())).source if came else ""
    return [Remark("allergen line", f"{text[:1].upper()}{text[1:]}.", source)] if text else []


def _named(found: Iterable[Allergen]) -> dict[str, Allergen]:
    return {one.substance: one for one in found if one.on_label}


def allergen_sentences(proposal: Proposal, request: Request) -> tuple[str, ...]:
    """What the label has to name, by threshold; then the lines that could not be counted."""
    if not request.labels:
        return ("No list of allergens for the label is known here for this place of sale.",)
    use = f"in a {request.product.use} product"
    found = []
    for threshold in sorted({one.threshold for one in request.labels}):
        named = [one for one in proposal.allergens if one.on_label and one.threshold == threshold]
        listed = ", ".join(f"{one.substance} {percent(one.percent)} %" for one in named)
        if listed:
            found.append(f"{listed} (highest content; named above {percent(threshold)} % {use}).")
    if not found:
        limits = " or ".join(f"{percent(t)} %" for t in sorted({one.threshold for one in request.labels}))
        found.append(f"None of those that could be counted stands above {limits} {use}.")
    if proposal.not_counted:
        names = ", ".join(request.ingredients[name].name for name in proposal.not_counted)
        found.append(f"Not counted, {UNKNOWN}: {names}.")
    return tuple(found)


def percent(value: Fraction) -> str:
    """Three digits that count, rounded up: a share above its threshold never shows as the threshold."""
    if not value:
        return "0"
    places = 0
    while value * 10**places < 10 ** (DIGITS - 1) and places < 9:
        places += 1
    scaled = -(-value * 10**places // 1)
    text = f"{scaled // 10**places}.{scaled % 10**places:0{places}d}" if places else str(scaled)
    return text.rstrip("0").rstrip(".") if "." in text else text
