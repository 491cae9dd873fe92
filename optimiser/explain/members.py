"""What each member of a conflict asks, and how far one gets with the other rules as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from optimiser.domain.outcome import Concession
from optimiser.domain.request import GRID, Remark
from optimiser.domain.rules import Absent, Covers, Legal, Reaches, Rule, Stock
from optimiser.explain.allowing import allowed_again, bought
from optimiser.explain.concession import Cure, cures_of
from optimiser.explain.giving import Side, may_give, sides_of, unit_step
from optimiser.explain.rest import STRAIGHT, Rest
from optimiser.explain.window import lowered
from optimiser.explain.words import Sided as HasMeasure
from optimiser.explain.words import Tongue, asked_words, best_words, limit_words, measure_of, who

NOT_OFFERED = {
    "law": "It is the law: it is not offered",
    "safety": "It is a matter of safety: it is not offered",
    "physics": "It cannot be otherwise",
}
ZERO = Fraction(0)
ANY_OF = "Any one of these would do"
NEVER_ENOUGH = "However far this alone gives way, another clash remains"


def ways_out(rest: Rest, members: Sequence[Rule], tongue: Tongue) -> dict[str, list[Cure]]:
    """By rule: each way in which it alone may give way enough."""
    return {rule.head.id: _ways(rest, rule, tongue) for rule in members}


def _ways(rest: Rest, rule: Rule, tongue: Tongue) -> list[Cure]:
    if isinstance(rule, Stock) and may_give(rule):
        return bought(rest, rule, tongue)
    if isinstance(rule, Absent) and may_give(rule):
        return allowed_again(rest, rule, tongue)
    if isinstance(rule, Covers | Reaches):
        return [*lowered(rest, rule, tongue), *cures_of(rest, rule, tongue)]
    return cures_of(rest, rule, tongue)


def told_of(rest: Rest, members: Sequence[Rule], ways: Mapping[str, list[Cure]]) -> tuple[Remark, ...]:
    """A remark for each member, in the order of the conflict."""
    tongue = Tongue(rest.request)
    return tuple(Remark(rule.head.id, _told(rest, rule, ways[rule.head.id], tongue)) for rule in members)


def _told(rest: Rest, rule: Rule, cures: Sequence[Cure], tongue: Tongue) -> str:
    if len(cures) > 1 and isinstance(rule, Absent | Stock):
        return f"{ANY_OF}: {'; '.join(cure.enough for cure in cures)}."
    if cures:
        return " ".join(cure.sentence for cure in cures)
    asked = asked_words(rule, tongue)
    if asked != rule.head.sentence.rstrip("."):
        asked = f"{who(rule)} {asked}"
    if not may_give(rule):
        return f"{asked}{_needed(rest, rule, tongue)}. {NOT_OFFERED.get(rule.head.basis, '')}."
    if rest.without(rule) is False:
        return f"{asked}. {NEVER_ENOUGH}."
    return f"{asked}. No limit of it was found that would do."


def _needed(rest: Rest, rule: Rule, tongue: Tongue) -> str:
    """What the rest would need of a limit that is not offered."""
    for side in sides_of(rule):
        limit = rest.nearest(rule, side)
        if limit is not None and limit != side.asked:
            if isinstance(rule, Legal):
                return f"; with the other rules as they are, {_percent(limit)} is the least"
            return f"; with the other rules as they are, {best_words(rule, side, limit, tongue)}"
    return ""


def _percent(value: Fraction) -> str:
    return f"{float(value):g} %"


def nearly_there(rest: Rest, cures: Sequence[Concession]) -> bool:
    """Whether some concession, with its formula, gives less than one printed step."""
    tongue = Tongue(rest.request)
    for cure in cures:
        found = missing(rest, cure.rule) if cure.asked else None
        if found is None:
            continue
        side, limit = found
        if isinstance(cure.rule, STRAIGHT) or cure.enough == limit_words(cure.rule, side, limit, tongue):
            return True
    return False


def missing(rest: Rest, rule: Rule) -> tuple[Side, Fraction] | None:
    """By less than one printed step: the side, and the exact limit that would do; None where it is more."""
    if not may_give(rule):
        return None
    tongue = Tongue(rest.request)
    for side in sides_of(rule):
        limit = rest.exact(rule, side)
        step = printed_step(rule, side, tongue)
        if limit is None and not isinstance(rule, STRAIGHT):
            limit, step = rest.nearest(rule, side), unit_step(side.asked) * Fraction(3, 2)
        if limit is not None and ZERO < abs(limit - side.asked) < step:
            return side, limit
    return None


def printed_step(rule: Rule, side: Side, tongue: Tongue) -> Fraction:
    """Shares are printed in steps of 0.001 %, other numbers in those of their limits."""
    if isinstance(rule, HasMeasure) and measure_of(rule, tongue)[1] == "%":
        return GRID
    return Fraction(0) if side.which == "at_most" else unit_step(side.asked) / 10
