"""Whether a thickness can be predicted, and what that asks of newcomers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from optimiser.checks.free_liquid import left_of
from optimiser.checks.thickness import thickness_of
from optimiser.domain.request import Remark
from optimiser.domain.rules import FreeLiquid, Rule, Thickness
from optimiser.requests.draft import Draft
from optimiser.requests.predicting import Predicted, newcomers, without
from optimiser.science.body import body_of, gum_under
from optimiser.science.charge import Unknown
from optimiser.science.formula import profile_for
from optimiser.science.powers import ONE, ZERO
from optimiser.science.wetting import liquid_of, uptake_of

CARRIED_LEVEL = "carried#level-thickening"


def predict_thickness(found: Predicted, made: Draft) -> Predicted:
    """Predicted when every line of the base has its constants; newcomers without them are set aside.

    Where the base has a gap it is held by reading, and the remark says why.
    """
    if not any(isinstance(rule, Thickness) for rule in found.rules):
        return found
    told = thickness_of(made.amounts, ONE, made.window, made.sources.constants)
    if isinstance(told, Unknown):
        text = f"{told.reason}. So the thickness is not predicted; a reading at the bench decides."
        return replace(found, remarks=(*found.remarks, Remark("thickness", text)))
    unknown = {name: why for name in newcomers(found.slots, made) if (why := _gap(name, made))}
    return without(replace(found, rules=tuple(_predicted(found.rules))), unknown, "thickness", made)


def predict_free_liquid(found: Predicted, made: Draft) -> Predicted:
    """The same for the liquid that the powders leave; what is liquid is oil in a product without water."""
    if not any(isinstance(rule, FreeLiquid) for rule in found.rules):
        return found
    oily = not made.watery
    left = left_of(made.amounts, oily)
    if isinstance(left, Unknown):
        text = f"{left.reason}. So the free liquid is not predicted; a look at the bench decides."
        return replace(found, remarks=(*found.remarks, Remark("free liquid", text)))
    unknown: dict[str, str] = {}
    for name in newcomers(found.slots, made):
        for part in (liquid_of(made.ingredients[name], oily), uptake_of(made.ingredients[name], oily)):
            if isinstance(part, Unknown):
                unknown[name] = part.reason
    rules = (
        replace(rule, predicted=True, oily=oily) if isinstance(rule, FreeLiquid) else rule
        for rule in found.rules
    )
    return without(replace(found, rules=tuple(rules)), unknown, "free liquid", made)


def _predicted(rules: Iterable[Rule]) -> Iterable[Rule]:
    """A must on the predicted thickness takes the place of the carried level, its rougher likeness."""
    rules = tuple(rules)
    spoken = any(isinstance(rule, Thickness) and rule.head.rank is None for rule in rules)
    for rule in rules:
        if isinstance(rule, Thickness):
            yield replace(rule, predicted=True)
        elif not (spoken and rule.head.id == CARRIED_LEVEL):
            yield rule


def _gap(name: str, made: Draft) -> str:
    """Why a newcomer's body is not known; empty where it is."""
    ingredient = made.ingredients[name]
    body = body_of(ingredient)
    if isinstance(body, Unknown):
        return body.reason
    gum = gum_under(body, made.window, ZERO)
    if isinstance(gum, Unknown):
        return gum.reason
    if gum is not None and body.touchy.salt_half is not None:
        profiles = (profile_for(made.ingredients[n], made.sources.constants) for n in (name, *_own(made)))
        if any(isinstance(profile, Unknown) for profile in profiles):
            return "what the salts take from it cannot be told"
    return ""


def _own(made: Draft) -> tuple[str, ...]:
    return tuple(sorted(made.formula.ingredients))
