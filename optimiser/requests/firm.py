"""A request held firm against what the data leave open."""

from __future__ import annotations

from dataclasses import replace

from optimiser.domain.firm import Firm
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import (
    Acidity,
    Forecast,
    FreeLiquid,
    Head,
    Level,
    Mean,
    Ratio,
    Reaches,
    Response,
    Rule,
    Share,
    Thickness,
)
from optimiser.domain.selector import AnyOf, Pick, Selector
from optimiser.requests.sentences import number

ASKED = ("character", "wish")
"""Rules that somebody asked for; law and safety hold at the worst anyway, what is carried follows the base.
"""
FORETOLD = "is foretold, not summed up: numbers off at once are not counted for it, it holds at their middle"


def held_firm(request: Request, firm: Firm) -> Request:
    """The request with every rule that was asked for held so firmly, as far as its kind can be."""
    rules = tuple(_firm(rule, firm) for rule in request.rules)
    return replace(request, name=f"{request.name} · {in_words(firm)}", rules=rules, firm=firm)


def in_words(firm: Firm) -> str:
    """`firm for every value in the data`, `firm with 2 numbers off at once`."""
    if firm.off_at_once is None:
        return "firm for every value in the data"
    return f"firm with {_numbers(firm)} off at once"


def _numbers(firm: Firm) -> str:
    count = firm.off_at_once
    return "every number" if count is None else f"{number(count)} number{'' if count == 1 else 's'}"


def is_held(rule: Rule) -> bool:
    """Whether it holds for more than the middle of the data because it was asked to."""
    return rule.head.surely or rule.head.off_at_once is not None


def _firm(rule: Rule, firm: Firm) -> Rule:
    if rule.head.basis not in ASKED or rule.head.at_worst or not _has_numbers(rule):
        return rule
    if firm.off_at_once is None:
        return replace(rule, head=_said(replace(rule.head, surely=True), "for every value in the data"))
    if not isinstance(rule, Level | Mean | FreeLiquid):
        return rule
    words = f"with {_numbers(firm)} off at once"
    return replace(rule, head=_said(replace(rule.head, off_at_once=firm.off_at_once), words))


def _has_numbers(rule: Rule) -> bool:
    """Whether it rests on numbers with a spread, and can reckon with them."""
    match rule:
        case Level() | Mean() | Reaches():
            return True
        case Acidity() | Thickness() | FreeLiquid() | Forecast() | Response():
            return rule.predicted
        case _:
            return False


def _said(head: Head, words: str) -> Head:
    return replace(head, sentence=f"{head.sentence.removesuffix('.')}, {words}.")


def notes(request: Request) -> tuple[Remark, ...]:
    """What firmness does not reach, and what needs none."""
    found = []
    if request.firm is None:
        return ()
    if request.firm.off_at_once is not None:
        found += [
            Remark(rule.head.id, f"{rule.head.sentence.partition(':')[0].removesuffix('.')} {FORETOLD}.")
            for rule in request.rules
            if isinstance(rule, Acidity | Thickness | Reaches | Response)
            and rule.head.basis in ASKED
            and _has_numbers(rule)
            and not rule.head.at_worst
        ]
    if any(_by_substance(rule) for rule in request.rules if rule.head.basis in ASKED):
        text = "Shares counted by substance hold for every value of the make-up, firm or not."
        found.append(Remark("share", text))
    if any(rule.head.basis == "carried" and isinstance(rule, Level | Mean) for rule in request.rules):
        text = "What is carried over from the base compares two formulas and stays at middle values."
        found.append(Remark("carried", text))
    found.append(Remark("cost", "Prices have no spread in the data: a cost is not held firm."))
    return tuple(found)


def _by_substance(rule: Rule) -> bool:
    if isinstance(rule, Share):
        return _of_substance(rule.of)
    return isinstance(rule, Ratio) and (_of_substance(rule.top) or _of_substance(rule.bottom))


def _of_substance(of: Selector) -> bool:
    picks: tuple[Pick, ...] = of.picks if isinstance(of, AnyOf) else (of,)
    return any(pick.field == "substance" for pick in picks)
