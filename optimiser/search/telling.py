"""What a proposal has to say for itself: what changed, what now does the work, what it sets off."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.checks import measures
from optimiser.checks.amounts import Amounts
from optimiser.domain.outcome import Change, Measure, RoleAnswer, Verdict
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Absent, Amount, Level, Mean, Share, UseRange
from optimiser.domain.selector import matches

Shares = Mapping[Slot, Fraction]
ZERO = Fraction(0)
TIGHT = Fraction(1, 1000)


def totals(shares: Shares) -> dict[str, Fraction]:
    """Share by ingredient over all its lines."""
    found: dict[str, Fraction] = {}
    for slot, share in shares.items():
        found[slot.ingredient] = found.get(slot.ingredient, ZERO) + share
    return found


def changes(request: Request, shares: Shares, verdicts: tuple[Verdict, ...]) -> tuple[Change, ...]:
    """Ingredients whose share differs from the base, with the rules that sit at their limit for them."""
    before, after = totals(request.base), totals(shares)
    found = []
    for name in sorted({*before, *after}):
        was, now = before.get(name, ZERO), after.get(name, ZERO)
        if was != now:
            found.append(Change(name, was, now, _because(request, name, verdicts)))
    return tuple(found)


def _because(request: Request, name: str, verdicts: tuple[Verdict, ...]) -> tuple[str, ...]:
    ingredient = request.ingredients[name]
    ids = []
    for verdict in verdicts:
        rule = verdict.rule
        if isinstance(rule, Absent):
            if matches(rule.of, ingredient) is not False:
                ids.append(rule.head.id)
            continue
        near = verdict.margin is not None and verdict.margin <= TIGHT
        if near and _speaks_of(rule, name, request):
            ids.append(rule.head.id)
    return tuple(ids)


def _speaks_of(rule: object, name: str, request: Request) -> bool:
    ingredient = request.ingredients[name]
    match rule:
        case Amount() | UseRange():
            return rule.ingredient == name
        case Share():
            return bool(matches(rule.of, ingredient)) and rule.head.basis != "physics"
        case Level():
            return ingredient.figure(rule.strength) is not None
        case _:
            return False


def roles(request: Request, shares: Shares) -> tuple[RoleAnswer, ...]:
    """For each removed ingredient, role by role, the lines that do that work now."""
    before, after = totals(request.base), totals(shares)
    answers = []
    for name in sorted(set(before) - {n for n, s in after.items() if s}):
        for role in request.ingredients[name].roles:
            now = [
                (other, share) for other, share in after.items() if role in request.ingredients[other].roles
            ]
            now.sort(key=lambda pair: (-(pair[1] - before.get(pair[0], ZERO)), pair[0]))
            answers.append(RoleAnswer(name, role, tuple(now[:3])))
    return tuple(answers)


def measured(request: Request, shares: Shares) -> tuple[Measure, ...]:
    """Every number a rule or a pull speaks of, and the cost: base beside proposal."""
    now = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)
    base = Amounts(tuple(sorted(request.base.items())), request.ingredients)
    of: dict[str, Share | Level | Mean] = {pull.name: pull.of for pull in request.pulls}
    for rule in request.rules:
        if isinstance(rule, Share | Level | Mean) and rule.head.rank is None:
            of.setdefault(rule.head.id.split("#", 1)[-1], rule)
    found, seen = [], set()
    for name, what in sorted(of.items()):
        key = (
            str(getattr(what, "of", "")),
            getattr(what, "strength", ""),
            getattr(what, "figure", ""),
            getattr(what, "phase", None),
        )
        if key in seen:
            continue
        seen.add(key)
        low, high = measures.spread(what, now)
        found.append(
            Measure(
                name,
                measures.middle(what, base),
                measures.middle(what, now),
                measures.unit_of(what),
                low,
                high,
            )
        )
    found.append(Measure("cost", measures.cost(base), measures.cost(now), f"{request.currency}/kg"))
    return tuple(found)


def departure(request: Request, shares: Shares) -> tuple[tuple[str, Fraction], ...]:
    """Departure from the base in its parts, in points; their sum is the number `closest` makes small."""
    weights = request.weights
    points = parts = ZERO
    for slot in request.slots:
        base, now = request.base.get(slot, ZERO), shares.get(slot, ZERO)
        points += abs(now - base) * weights.points
        if base and slot != request.filler and slot not in request.fixed:
            parts += abs(now - base) / base * weights.parts
    amounts = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)
    carried = ZERO
    for pull in request.pulls:
        carried += abs(measures.middle(pull.of, amounts) - pull.target) / pull.half_width * weights.pulls
    came = sum(1 for name, share in totals(shares).items() if share and name in request.newcomers)
    return (
        ("points moved", points),
        ("lines moved", parts),
        ("measures moved", carried),
        ("newcomers", came * weights.newcomer),
    )
