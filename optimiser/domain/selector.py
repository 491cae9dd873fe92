"""Selectors: which ingredients a rule speaks of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimiser.domain.ingredient import Ingredient

Field = Literal["kind", "group", "role", "flag", "ingredient", "substance"]
FIELDS: tuple[Field, ...] = ("kind", "group", "role", "flag", "ingredient", "substance")


@dataclass(frozen=True, slots=True)
class Pick:
    """`kind: clay`, `role: emollient` ... A `kind` also matches the group of that name."""

    field: Field
    name: str

    def __str__(self) -> str:
        return f"{self.field} {self.name}" if self.field in ("role", "flag") else self.name


@dataclass(frozen=True, slots=True)
class AnyOf:
    """Matches what any of its members matches."""

    picks: tuple[Pick, ...]

    def __str__(self) -> str:
        return " or ".join(str(pick) for pick in self.picks)


Selector = Pick | AnyOf


def matches(selector: Selector, ingredient: Ingredient) -> bool | None:
    """True, False, or None when it is not known (a flag without paper, an unknown composition)."""
    if isinstance(selector, AnyOf):
        answers = [matches(pick, ingredient) for pick in selector.picks]
        return True if True in answers else None if None in answers else False
    return _matches_pick(selector, ingredient)


def _matches_pick(pick: Pick, ingredient: Ingredient) -> bool | None:
    match pick.field:
        case "kind":
            return pick.name in (ingredient.kind, ingredient.group)
        case "group":
            return pick.name == ingredient.group
        case "role":
            return pick.name in ingredient.roles
        case "ingredient":
            return pick.name == ingredient.id
        case "flag":
            return {"contains": True, "free": False, "unknown": None}[ingredient.flag(pick.name)]
        case "substance":
            return contains_substance(ingredient, pick.name)


def contains_substance(ingredient: Ingredient, substance: str) -> bool | None:
    """Whether the ingredient holds the substance (INCI name, any case); None when that is not known.

    An essential oil listed by its constituents is still the oil its own INCI name says.
    """
    wanted = substance.casefold()
    if wanted == ingredient.inci.casefold():
        return True
    if ingredient.composition is None:
        return None
    return any(part.substance.casefold() == wanted and part.high > 0 for part in ingredient.composition)
