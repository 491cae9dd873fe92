"""Allergens that a label has to name, from the label thresholds that apply."""

from __future__ import annotations

from optimiser.domain.request import LabelLimit
from optimiser.law.limits import Picked

LISTED = " (listed allergen)"
"""How the table marks the family of such a threshold; the name on the label stands before it."""


def label_limits(picked: Picked) -> tuple[LabelLimit, ...]:
    """One threshold a name on the label, in order of names; a group has all its members under one name."""
    found = [
        LabelLimit(one.family.removesuffix(LISTED), one.members, one.maximum, one.source)
        for one in picked.labels
        if one.family.endswith(LISTED)
    ]
    return tuple(sorted(found, key=lambda one: one.name))
