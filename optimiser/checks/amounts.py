"""A formula to be judged: exact shares by line, and sums over them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Slot
from optimiser.domain.selector import AnyOf, Pick, Selector


@dataclass(frozen=True, slots=True)
class Amounts:
    """Lines that are there (share > 0), in % w/w."""

    lines: tuple[tuple[Slot, Fraction], ...]
    ingredients: Mapping[str, Ingredient]

    def sum(self, per_gram: Callable[[Ingredient], Fraction], phase: str | None = None) -> Fraction:
        """Sum of share times `per_gram`, over all lines or those of one phase."""
        total = Fraction(0)
        for slot, share in self.lines:
            if phase is None or slot.phase == phase:
                total += share * per_gram(self.ingredients[slot.ingredient])
        return total

    def of(self, ingredient: str) -> Fraction:
        return sum((share for slot, share in self.lines if slot.ingredient == ingredient), Fraction(0))

    @property
    def present(self) -> tuple[Ingredient, ...]:
        names = sorted({slot.ingredient for slot, _ in self.lines})
        return tuple(self.ingredients[name] for name in names)


@dataclass(frozen=True, slots=True)
class Counted:
    """The part of an ingredient that a selector surely counts, and the part it may count."""

    surely: Fraction
    at_most: Fraction


def counted(selector: Selector, ingredient: Ingredient) -> Counted:
    """Both ends of what the selector counts of one gram."""
    if isinstance(selector, AnyOf):
        if any(pick.field == "ingredient" and pick.name == ingredient.id for pick in selector.picks):
            return Counted(Fraction(1), Fraction(1))
        ends = [counted(pick, ingredient) for pick in selector.picks if pick.field != "ingredient"]
        zero = Fraction(0)
        return Counted(
            max((end.surely for end in ends), default=zero), max((end.at_most for end in ends), default=zero)
        )
    if selector.field == "substance":
        return _substance(selector.name, ingredient)
    return _whole(selector, ingredient)


def _substance(name: str, ingredient: Ingredient) -> Counted:
    low = high = Fraction(0)
    listed = False
    for part in ingredient.composition or ():
        if part.substance.lower() == name.lower():
            low, high, listed = low + part.low / 100, high + part.high / 100, True
    if not listed and name.lower() == ingredient.inci.lower():
        return Counted(Fraction(1), Fraction(1))
    if ingredient.composition is None:
        return Counted(Fraction(0), Fraction(1))
    return Counted(low, high)


def _whole(pick: Pick, ingredient: Ingredient) -> Counted:
    yes, no, maybe = (Fraction(1), Fraction(1)), (Fraction(0), Fraction(0)), (Fraction(0), Fraction(1))
    if pick.field == "flag":
        state = ingredient.flags.get(pick.name, "unknown")
        return Counted(*(yes if state == "contains" else no if state == "free" else maybe))
    held: dict[str, tuple[str, ...]] = {
        "kind": (ingredient.kind, ingredient.group),
        "group": (ingredient.group,),
        "role": ingredient.roles,
        "ingredient": (ingredient.id,),
    }
    return Counted(*(yes if pick.name in held[pick.field] else no))
