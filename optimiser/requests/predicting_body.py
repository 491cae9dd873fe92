"""Whether a thickness can be predicted, and what that asks of newcomers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from optimiser.checks.thickness import thickness_of
from optimiser.domain.request import Remark, SetAside
from optimiser.domain.rules import Rule, Thickness
from optimiser.requests.draft import Draft
from optimiser.requests.predicting import Predicted
from optimiser.science.body import body_of, gum_under
from optimiser.science.charge import Unknown
from optimiser.science.formula import profile_for
from optimiser.science.powers import ONE, ZERO


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
    own = made.formula.ingredients
    names = sorted({slot.ingredient for slot in found.slots} - own)
    unknown = {name: why for name in names if (why := _gap(name, made))}
    more = (
        SetAside(name, f"so no thickness could be predicted with it: {why}", made.ingredients[name].name)
        for name, why in unknown.items()
    )
    return replace(
        found,
        rules=tuple(_predicted(found.rules)),
        slots=tuple(slot for slot in found.slots if slot.ingredient not in unknown),
        aside=tuple(sorted((*found.aside, *more), key=lambda item: item.ingredient)),
    )


def _predicted(rules: Iterable[Rule]) -> Iterable[Rule]:
    for rule in rules:
        yield replace(rule, predicted=True) if isinstance(rule, Thickness) else rule


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
