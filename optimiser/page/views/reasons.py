"""Why the proposal is as it is: line by line, and what the next step of each limit costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.why import Why
from optimiser.export.why_words import (
    comes_in,
    cost_words,
    span_words,
    step_words,
    steps_of,
    without_words,
)
from optimiser.page.views.figures import Figures


@dataclass(frozen=True, slots=True)
class LineReason:
    name: str
    share: str
    as_good: str
    may: str
    without: str
    held_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhyShown:
    """`limits` are rows of rule, step, cost with the same ingredients, cost with any; `runners_up` of line,
    what would come in, its price, the price at which it comes in, its share then, the line then.
    """

    aim: str
    lines: tuple[LineReason, ...]
    limits: tuple[tuple[str, str, str, str], ...]
    runners_up: tuple[tuple[str, ...], ...]
    currency: str


def why_of(found: Why, figures: Figures) -> WhyShown:
    short, signed = figures.short, figures.signed
    limits = []
    for both in steps_of(found):
        one = next(iter(both.values()))
        costs = [cost_words(both.get(way), found, short, signed) for way in (False, True)]
        limits.append((one.rule.rstrip("."), step_words(one, short), costs[0], costs[1]))
    return WhyShown(
        found.aim,
        tuple(
            LineReason(
                one.name,
                figures.fixed(one.share),
                span_words(one.as_good, short),
                span_words(one.may, short),
                without_words(one, found, short, signed),
                tuple(text.removeprefix(f"{one.name}: ") for text in one.held_by),
            )
            for one in found.lines
        ),
        tuple(limits),
        tuple(
            (line.name, come.name, figures.fixed(come.price, 2), *comes_in(come, short, figures.fixed))
            for line in found.lines
            if (come := line.runner_up) is not None
        ),
        found.outcome.request.currency,
    )


def own_of(found: Why) -> tuple[tuple[str, str], ...]:
    """Lines of the proposal, for choosing one: id and name."""
    return tuple((one.ingredient, one.name) for one in found.lines)


def named(known: Iterable[Ingredient]) -> tuple[tuple[str, str], ...]:
    """Ingredients by name, for choosing one."""
    return tuple((one.id, one.name) for one in sorted(known, key=lambda i: i.name.casefold()))
