"""Rules that somebody asked for: the formula's targets, the brief, the options."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.brief import LeaveOut
from optimiser.domain.rules import Absent, Amount, Head, Rule, Stock
from optimiser.domain.selector import Pick, Selector
from optimiser.requests.draft import Draft
from optimiser.requests.sentences import number
from optimiser.requests.wants import rules_from

TRACE = Fraction(1, 100)


def stated(draft: Draft) -> tuple[Rule, ...]:
    """Targets of the formula and of the brief. A brief's pH window takes the place of the formula's."""
    formula, brief = draft.formula, draft.brief
    replaced = {want.topic for want in brief.targets if want.topic == "ph" and want.rank is None}
    rules: list[Rule] = []
    for want in formula.targets:
        if want.topic not in replaced:
            rules += rules_from(want, draft.base, origin=f"formulas/{formula.id}")
    for want in brief.targets:
        rules += rules_from(want, draft.base, origin=f"briefs/{brief.id}" if brief.id else "asked")
    return tuple(rules)


def left_out(draft: Draft) -> tuple[LeaveOut, ...]:
    asked = tuple(LeaveOut(of, f"leave out {of}") for of in draft.options.leave_out)
    return (*draft.brief.leave_out, *asked)


def gone(draft: Draft) -> tuple[Selector, ...]:
    """What a must leaves out."""
    musts = tuple(item.of for item in left_out(draft) if item.rank is None)
    return (*musts, *(Pick("ingredient", out) for out, _ in draft.swaps))


def leaving_out(draft: Draft) -> tuple[Rule, ...]:
    rules = []
    for item in left_out(draft):
        origin = item.place.file.removesuffix(".yaml") or "asked"
        basis = "wish" if item.rank is not None else "character"
        head = Head(
            f"{origin}#{item.label}",
            _sentence(item.of, draft),
            item.source or item.place.file or "asked",
            item.why,
            "wish" if basis == "wish" else "character",
            item.rank,
        )
        rules.append(Absent(head, item.of))
    return tuple(rules)


def _sentence(of: Selector, draft: Draft) -> str:
    if isinstance(of, Pick) and of.field == "ingredient" and of.name in draft.ingredients:
        return f"{draft.ingredients[of.name].name} is left out."
    return f"Nothing that is or may be {_said(of, draft)}."


def _said(of: Selector, draft: Draft) -> str:
    if isinstance(of, Pick) and of.field == "ingredient" and of.name in draft.ingredients:
        return draft.ingredients[of.name].name
    return f"flagged {of.name}" if isinstance(of, Pick) and of.field == "flag" else str(of)


def swapped(draft: Draft) -> tuple[Rule, ...]:
    """One ingredient instead of another: the first is absent, the second at least at its useful minimum."""
    rules: list[Rule] = []
    for out, use in draft.swaps:
        old, new = draft.ingredients[out], draft.ingredients[use]
        least = new.use_min or TRACE
        rules.append(
            Absent(Head(f"asked#without {out}", f"{old.name} is left out.", "asked"), Pick("ingredient", out))
        )
        text = f"{new.name} is used instead of {old.name}: at least {number(least)} %."
        rules.append(Amount(Head(f"asked#use {use}", text, "asked"), use, least, None))
    return tuple(rules)


def only_shelf(draft: Draft) -> tuple[Rule, ...]:
    """Each ingredient at most what lots in date hold, for the batch asked."""
    if not draft.only_shelf:
        return ()
    batch = draft.formula.batch_g
    most = {name: min(Fraction(100), grams / batch * 100) for name, grams in draft.on_shelf().items()}
    text = f"Only what is on the shelf and in date, for a batch of {number(batch)} g."
    return (Stock(Head("asked#only from the shelf", text, "shelf.csv"), most),)
