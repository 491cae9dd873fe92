"""What stands behind a conflict about the pH: who pushes it, and what the preservatives need."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.request import Request
from optimiser.domain.rules import Acidity, Covers, Reaches, Rule
from optimiser.explain.giving import Side, moved, sides_of
from optimiser.explain.rest import Rest, bisected
from optimiser.explain.words import Tongue
from optimiser.lp import names
from optimiser.requests.sentences import number
from optimiser.science.acidity_rows import charge_per_gram
from optimiser.science.charge import ChargeProfile
from optimiser.science.formula import profiles_for

USUAL_STRENGTH = Fraction(1, 10)
MOST_NAMED = 3
NAMED_FROM = Fraction(1, 10)
"""Who brings less than a tenth of all that pushes is not named."""


def ph_told(rest: Rest, members: Iterable[Rule], tongue: Tongue) -> tuple[str, ...]:
    """Sentences on the pH behind a conflict; none where no member speaks of it."""
    rules = tuple(members)
    found = [text for rule in rules if isinstance(rule, Acidity) for text in _held(rest, rule, tongue)]
    groups = [rule for rule in rules if isinstance(rule, Covers | Reaches)]
    return (*found, *_needs(rest.request, groups, tongue))


def _held(rest: Rest, rule: Acidity, tongue: Tongue) -> list[str]:
    """How low, or how high, the pH can be held with the other rules as they are, and who pushes it there."""
    if not rule.predicted:
        return []
    found = []
    for side in sides_of(rule):

        def at(limit: Fraction, side: Side = side) -> Request:
            new = moved(rule, side, limit)
            return replace(
                rest.request,
                rules=tuple(new if r.head.id == rule.head.id else r for r in rest.request.rules),
            )

        def works(to: Fraction, at: Callable[[Fraction], Request] = at) -> bool:
            return bool(rest.possible(at(to)))

        limit = bisected(side.asked, side.far, works)
        if limit is None or limit == side.asked:
            continue
        answer = rest.solved(rest.with_changed(at(limit)))
        pushers = _pushers(rest.request, answer.values, side) if answer.has_values else []
        who = ", ".join(tongue.named(name) for name in pushers)
        pulled = f"{who} {'pulls' if len(pushers) == 1 else 'pull'} the pH {'down' if side.floor else 'up'}"
        end = "higher" if side.floor else "lower"
        asked = f"{'at least' if side.floor else 'at most'} {number(side.asked)}"
        start = f"{pulled}: with" if pushers else "With"
        found.append(
            f"{start} the other rules as they are, no dose that is allowed brings it {end} than "
            f"{number(limit)}; asked is {asked}."
        )
    return found


def _pushers(request: Request, values: Mapping[str, float], side: Side) -> list[str]:
    """Ingredients that bring most of the charge against this side, the largest first."""
    profiles = profiles_for(request.ingredients.values(), request.substances)
    dosed = {slot.ingredient for slot in request.dosed}
    pushes: dict[str, Fraction] = {}
    for slot in request.slots:
        profile = profiles.get(slot.ingredient)
        share = Fraction(str(round(values.get(names.share(slot), 0.0), 6)))
        if isinstance(profile, ChargeProfile) and share > 0 and slot.ingredient not in dosed:
            charge = charge_per_gram(profile, side.asked, USUAL_STRENGTH) * share
            pushes[slot.ingredient] = pushes.get(slot.ingredient, Fraction(0)) + charge
    sign = -1 if side.floor else 1
    against = {name: sign * value for name, value in pushes.items() if sign * value > 0}
    whole = sum(against.values(), Fraction(0))
    ranked = sorted(against, key=lambda name: (-against[name], name))
    return [name for name in ranked[:MOST_NAMED] if against[name] >= whole * NAMED_FROM]


def _needs(request: Request, rules: list[Covers | Reaches], tongue: Tongue) -> list[str]:
    """Up to which pH each preservative that may be there counts, the base's own first; a line for each."""
    groups = sorted({rule.group for rule in rules})
    tops: dict[str, Fraction] = {}
    for name, one in sorted(request.ingredients.items()):
        top = one.figure("ph_works_max")
        if one.kind != "preservative-acid":
            continue
        if top is not None and any(one.figure(f"least_dose_{group}") is not None for group in groups):
            tops[name] = top.low
    own = request.formula.ingredients
    ranked = sorted(tops, key=lambda name: (name not in own, -tops[name], name))
    asked = next((rule.ph_top for rule in rules if rule.ph_top is not None), None)
    if not groups or asked is None or all(tops[name] >= asked for name in ranked):
        return []
    told = ", ".join(f"{tongue.named(name)} up to pH {number(tops[name])}" for name in ranked[:MOST_NAMED])
    text = f"Acid preservatives count only where the pH is low enough: {told}"
    return [f"{text}; the window goes up to {number(asked)}."]
