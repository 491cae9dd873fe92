"""Why an ingredient went, came or moved."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from optimiser.checks import measures
from optimiser.checks.amounts import Amounts, counted
from optimiser.domain.outcome import Change, Verdict
from optimiser.domain.request import Pull, Request
from optimiser.domain.rules import (
    Absent,
    Acidity,
    Amount,
    Covers,
    Level,
    Mean,
    Needs,
    Ratio,
    Reaches,
    Response,
    Rule,
    Share,
    Stock,
    Thickness,
    UseRange,
)
from optimiser.domain.selector import matches
from optimiser.requests.sentences import number
from optimiser.search.telling import Shares, totals

ZERO = Fraction(0)
TIGHT = Fraction(1, 1000)
TIGHT_THICKNESS = Fraction(1, 50)
"""Part of the thickness: its rows are right at one answer only, so it stops a little short of its limit."""
TIGHT_RESPONSE = Fraction(1, 200)
"""Part of a bent response, for the same reason."""
PH_GROUPS = ("acid", "alkali", "clay", "preservative", "salt")
"""What a pH at its limit is said to hold."""


def changes(request: Request, shares: Shares, verdicts: tuple[Verdict, ...]) -> tuple[Change, ...]:
    """Ingredients whose share differs from the base, each with the rules and measures that hold it there."""
    before, after = totals(request.base), totals(shares)
    found = []
    for name in sorted({*before, *after}):
        was, now = before.get(name, ZERO), after.get(name, ZERO)
        if was == now:
            continue
        held = [v.rule for v in verdicts if holds_it(v, name, now, request)]
        reasons = [rule.head.sentence for rule in held]
        if name == request.filler.ingredient:
            reasons = ["It makes up the rest to 100 %."]
        elif not now and not reasons and request.aim[0] == "cheapest":
            reasons = ["For the price."]
        elif now or not reasons:
            reasons += _steadied(request, name, now - was, shares)
        found.append(Change(name, was, now, tuple(r.head.id for r in held), tuple(dict.fromkeys(reasons))))
    return tuple(found)


def holds_it(verdict: Verdict, name: str, now: Fraction, request: Request) -> bool:
    rule, ingredient = verdict.rule, request.ingredients[name]
    if isinstance(rule, Absent):
        return not now and matches(rule.of, ingredient) is not False
    if isinstance(rule, Stock):
        return rule.most.get(name, ZERO) < request.base_of(name)
    tight = TIGHT
    if isinstance(rule, Thickness):
        tight = (verdict.value or ZERO) * TIGHT_THICKNESS
    if isinstance(rule, Response) and rule.bends:
        tight = max(abs(verdict.value or ZERO) * TIGHT_RESPONSE, TIGHT)
    near = verdict.margin is not None and verdict.margin <= tight and now > 0
    return near and _speaks_of(rule, name, request)


def _speaks_of(rule: Rule, name: str, request: Request) -> bool:
    ingredient = request.ingredients[name]
    match rule:
        case Amount() | UseRange():
            return rule.ingredient == name
        case Share():
            return bool(counted(rule.of, ingredient).surely) and rule.head.basis != "physics"
        case Level():
            return ingredient.figure(rule.strength) is not None
        case Covers():
            return (
                ingredient.group == "preservative"
                and ingredient.figure(f"least_dose_{rule.group}") is not None
            )
        case Acidity():
            return ingredient.group in PH_GROUPS
        case Thickness():
            return ingredient.figure("viscosity_1pct") is not None
        case Response():
            return any(one.ingredient == name for one in rule.fitted.varied)
        case Reaches():
            return ingredient.group == "preservative"
        case Needs():
            return bool(counted(rule.needs, ingredient).surely)
        case Ratio():
            return bool(counted(rule.top, ingredient).surely or counted(rule.bottom, ingredient).surely)
        case _:
            return False


def _steadied(request: Request, name: str, moved: Fraction, shares: Shares) -> Iterator[str]:
    """Carried measures that this move keeps near the base while another line moves the other way."""
    now = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)
    base = Amounts(tuple(sorted(request.base.items())), request.ingredients)
    before, after = totals(request.base), totals(shares)
    for pull in request.pulls:
        weight = _weight(pull, name, request)
        others = sum(
            (after.get(n, ZERO) - before.get(n, ZERO)) * _weight(pull, n, request)
            for n in {*before, *after} - {name}
        )
        if weight * moved * others < 0:
            was, is_now = measures.middle(pull.of, base), measures.middle(pull.of, now)
            unit = measures.unit_of(pull.of)
            yield f"Keeps the {pull.name} near the base ({number(was)} → {number(is_now)} {unit})."


def _weight(pull: Pull, name: str, request: Request) -> Fraction:
    """What one gram adds to the measure; a mean is told only of what it is mostly made of."""
    ingredient = request.ingredients[name]
    match pull.of:
        case Share():
            return counted(pull.of.of, ingredient).surely
        case Level():
            figure = ingredient.figure(pull.of.strength)
            return figure.value if figure is not None else ZERO
        case Mean():
            return ZERO
