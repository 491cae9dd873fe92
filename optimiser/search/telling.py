"""What a proposal has to say for itself: what changed, what now does the work, what it sets off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from optimiser.checks import measures
from optimiser.checks.acidity import raises, reach_of
from optimiser.checks.amounts import Amounts
from optimiser.checks.free import UNIT, free_doses
from optimiser.checks.responses import strays, taught
from optimiser.domain.outcome import Measure, RoleAnswer
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import MICROBES, Level, Mean, Response, Share
from optimiser.requests.carried import name_of
from optimiser.search.by_models import FREE, PREDICTED, Foretold, foretold_by_models
from optimiser.search.foretold import foretold

Shares = Mapping[Slot, Fraction]
ZERO = Fraction(0)


def totals(shares: Shares) -> dict[str, Fraction]:
    """Share by ingredient over all its lines."""
    found: dict[str, Fraction] = {}
    for slot, share in shares.items():
        found[slot.ingredient] = found.get(slot.ingredient, ZERO) + share
    return found


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


def measured(request: Request, shares: Shares, jar: Iterable[Foretold]) -> tuple[Measure, ...]:
    """Every number a rule or a pull speaks of, what is foretold, and the cost: base beside proposal."""
    now = Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)
    base = Amounts(tuple(sorted(request.base.items())), request.ingredients)
    of: dict[str, Share | Level | Mean] = {}
    for rule in request.rules:
        if isinstance(rule, Share | Level | Mean) and rule.head.rank is None and not _of_work(rule):
            of.setdefault(name_of(rule), rule)
    for pull in request.pulls:
        of.setdefault(pull.name, pull.of)
    found = []
    for name, what in sorted(of.items()):
        low, high = measures.spread(what, now)
        unit = measures.unit_of(what)
        found.append(Measure(name, measures.middle(what, base), measures.middle(what, now), unit, low, high))
    found += _acidities(request, base, now)
    found += _reaching(request, base, now)
    found += foretold_by_models(jar, base)
    found += _responses(request, base, now)
    found += foretold(request, base, now, {measure.name for measure in found})
    found.append(Measure("cost", measures.cost(base), measures.cost(now), f"{request.currency}/kg"))
    return tuple(found)


def _acidities(request: Request, base: Amounts, now: Amounts) -> list[Measure]:
    """Predicted pH with its range by the data: as it is, or before the adjuster and with all of it."""
    dosed = tuple(sorted({slot.ingredient for slot in request.dosed}))
    was, will = (reach_of(dosed, amounts, request) for amounts in (base, now))
    if will is None or not (will.acid.valid and will.alkaline.valid):
        return []

    def told(name: str, side: str) -> Measure:
        before = None if was is None else getattr(was, side).ph
        low, high = getattr(will, f"{side}_range")
        return Measure(name, _ph(before), _ph(getattr(will, side).ph), "pH", _ph(low), _ph(high))

    if not dosed:
        return [told("pH, predicted", "acid")]
    first, last = ("acid", "alkaline") if raises(dosed, now) else ("alkaline", "acid")
    return [
        told("pH before the adjuster, predicted", first),
        told("pH with all of it, predicted", last),
    ]


def _reaching(request: Request, base: Amounts, now: Amounts) -> list[Measure]:
    """What reaches the water of the best preservative against each group, in its least free doses."""
    found = []
    for group in MICROBES:
        will = free_doses(group, now, request)
        if will is not None:
            was = free_doses(group, base, request, only=will.ingredient.id)
            name = f"{will.name}{FREE}{group}{PREDICTED}"
            before = _two(was.value) if was is not None else None
            found.append(Measure(name, before, _two(will.value), UNIT, _two(will.low), _two(will.high)))
    return found


def _responses(request: Request, base: Amounts, now: Amounts) -> list[Measure]:
    """What trials taught, where a rule speaks of it and the trials had such a formula."""
    rules = [rule for rule in request.rules if isinstance(rule, Response)]
    found = []
    for fitted in {rule.fitted.id: rule.fitted for rule in rules}.values():
        was, will = (taught(fitted, it) if not strays(fitted, it) else None for it in (base, now))
        if will is not None:
            reach = will.reach(fitted)
            ends = (_two(will.value - reach), _two(will.value + reach))
            before = None if was is None else _two(was.value)
            found.append(Measure(f"{fitted.name}, predicted", before, _two(will.value), fitted.unit, *ends))
    return found


def _two(value: Fraction) -> Fraction:
    return round(value, 2)


def _ph(value: float | None) -> Fraction | None:
    return None if value is None else Fraction(repr(round(value, 2)))


def _of_work(rule: Share | Level | Mean) -> bool:
    """Floors that only guard the cheapest jar, and bounds of trials: judged, but not told as measures."""
    return rule.head.id.startswith(("carried#role-", "carried#kind-", "trials#"))


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
    came = [
        name for name, share in totals(shares).items() if share and name not in request.formula.ingredients
    ]
    weighed = sum((weights.newcomer if name in request.newcomers else weights.line for name in came), ZERO)
    return (
        ("points moved", points),
        ("lines moved", parts),
        ("measures moved", carried),
        ("newcomers", weighed),
    )
