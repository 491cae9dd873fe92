"""Allergens that a label has to name: all that may come in with any line, against the threshold."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Allergen
from optimiser.domain.request import LabelLimit

ZERO = Fraction(0)


def allergens(limits: Iterable[LabelLimit], amounts: Amounts) -> tuple[Allergen, ...]:
    """Listed allergens of the formula at the highest content of every line, in order of names.

    Lines of unknown make-up count only where their own name is listed; see `not_counted`.
    """
    found = []
    for limit in limits:
        names = {name.casefold(): factor for name, factor in limit.members}
        held = amounts.sum(lambda one, names=names: _held(one, names))  # type: ignore[misc]
        if held:
            found.append(Allergen(limit.name, held, limit.threshold, limit.source))
    return tuple(found)


def not_counted(amounts: Amounts) -> tuple[str, ...]:
    """Ids of the lines whose make-up is not known, sorted."""
    return tuple(one.id for one in amounts.present if one.composition is None)


def _held(ingredient: Ingredient, names: dict[str, Fraction]) -> Fraction:
    """Grams under one name on the label in one gram: the whole, or the sum of its listed parts."""
    own = names.get(ingredient.inci.casefold())
    if own is not None:
        return own
    parts = ingredient.composition or ()
    whole = sum(
        (
            part.high / 100 * names[part.substance.casefold()]
            for part in parts
            if part.substance.casefold() in names
        ),
        ZERO,
    )
    return min(whole, max(names.values()))
