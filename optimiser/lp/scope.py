"""What a rule can see of the request while it writes its rows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Request, Slot
from optimiser.domain.selector import AnyOf, Pick, Selector
from optimiser.lp import names
from optimiser.lp.weights import ONE, Side, part_of
from optimiser.model.rows import Var

Coefs = dict[str, Fraction]
HUNDRED = Fraction(100)
MANY = 200
"""A sum of more lines than these is told once, for the ratios of a large table may all speak of it."""


@dataclass(frozen=True)
class Scope:
    """The request, with the slots of each ingredient at hand.

    `lenient` takes numbers that nobody looked up at the end that favours the request: what is impossible even
    so is so.
    `incumbent` is the answer at which rows that are not linear are written; without it, the base.
    `spelled_out`: no sum is told apart, however many its lines.
    """

    request: Request
    lenient: bool = False
    incumbent: Incumbent | None = None
    spelled_out: bool = False
    _counted: dict[tuple[Selector, Side, str | None], Coefs] = field(
        default_factory=dict, compare=False, repr=False
    )
    _holding: dict[tuple[Selector, Side], list[str]] = field(default_factory=dict, compare=False, repr=False)
    sums: dict[str, Coefs] = field(default_factory=dict, compare=False, repr=False)
    """What each variable that stands for a sum of many lines is the sum of."""

    @cached_property
    def slots_of(self) -> dict[str, tuple[Slot, ...]]:
        found: dict[str, list[Slot]] = {}
        for slot in self.request.slots:
            found.setdefault(slot.ingredient, []).append(slot)
        return {name: tuple(slots) for name, slots in found.items()}

    @property
    def ionic(self) -> Fraction | None:
        return None if self.incumbent is None else self.incumbent.ionic

    @property
    def last_shares(self) -> Mapping[str, Fraction]:
        """Shares by ingredient of the last answer, or of the base."""
        return self.base_shares if self.incumbent is None else self.incumbent.shares

    @cached_property
    def base_shares(self) -> dict[str, Fraction]:
        found: dict[str, Fraction] = {}
        for slot, share in sorted(self.request.base.items()):
            found[slot.ingredient] = found.get(slot.ingredient, Fraction(0)) + share
        return {name: share for name, share in found.items() if name in self.request.ingredients}

    def ingredient(self, slot: Slot) -> Ingredient:
        return self.request.ingredients[slot.ingredient]

    def total(self, ingredient: str, factor: Fraction = Fraction(1)) -> Coefs:
        """Coefficients of one ingredient over all its lines."""
        return {names.share(slot): factor for slot in self.slots_of.get(ingredient, ())}

    def weighted(self, weight: Callable[[Ingredient], Fraction], phase: str | None = None) -> Coefs:
        """Sum of share times weight over all lines, or over those of one phase; zeros left out."""
        coefs: Coefs = {}
        for slot in self.request.slots:
            if phase is not None and slot.phase != phase:
                continue
            factor = weight(self.ingredient(slot))
            if factor:
                coefs[names.share(slot)] = factor
        return coefs

    def holders(self, substances: Iterable[str]) -> set[str]:
        """Ingredients that are one of these substances, given in lower case, or are said to hold one."""
        return {name for one in substances for name in self._holders.get(one, ())}

    @cached_property
    def _holders(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name, one in self.request.ingredients.items():
            parts = (part.substance.casefold() for part in one.composition or ())
            for substance in {one.inci.casefold(), *parts}:
                found.setdefault(substance, []).append(name)
        return found

    def counted(self, selector: Selector, side: Side, phase: str | None = None) -> Coefs:
        """What the selector counts of each line; told once for each selector. To be read only."""
        key = selector, side, phase
        if key not in self._counted:
            self._counted[key] = self._count(selector, side, phase)
        return self._counted[key]

    def summed(self, selector: Selector, side: Side, phase: str | None = None) -> Coefs:
        """As `counted`; of very many lines, one variable that stands for their sum. To be read only."""
        coefs = self.counted(selector, side, phase)
        if self.spelled_out or len(coefs) <= MANY:
            return coefs
        name = names.sum_of(selector, side, phase)
        self.sums[name] = coefs
        return {name: ONE}

    def _count(self, selector: Selector, side: Side, phase: str | None) -> Coefs:
        picks = selector.picks if isinstance(selector, AnyOf) else (selector,)
        if any(pick.field != "ingredient" for pick in picks):
            return self.weighted(lambda ingredient: part_of(selector, ingredient, side), phase)
        slots = (slot for pick in dict.fromkeys(picks) for slot in self.slots_of.get(pick.name, ()))
        return {names.share(slot): ONE for slot in slots if phase is None or slot.phase == phase}

    def holding(self, selector: Selector, side: Side) -> list[str]:
        """Ingredients with a line of which the selector counts something, in order. To be read only."""
        if isinstance(selector, Pick) and selector.field == "ingredient":
            return [selector.name] if selector.name in self.slots_of else []
        if (selector, side) not in self._holding:
            here = self.request.ingredients
            held = [name for name in self._in_order if part_of(selector, here[name], side)]
            self._holding[selector, side] = held
        return self._holding[selector, side]

    @cached_property
    def _in_order(self) -> list[str]:
        return sorted(self.slots_of)


@dataclass(frozen=True, slots=True)
class Piece:
    """One row of a rule before it is named: low <= coefs <= high.

    `per_limit` is how the right-hand side moves when the limit moves by one: 100 for a mean over 100 g. It is
    None where the row has no limit to move. A row that gives a helper variable its `meaning` is never missed
    by a slack: half a dose covers nothing.
    """

    coefs: Coefs
    low: Fraction | None = None
    high: Fraction | None = None
    where: str = ""
    per_limit: Fraction | None = Fraction(1)
    meaning: bool = False


@dataclass(frozen=True, slots=True)
class Rows:
    """All that one rule adds to the model."""

    pieces: tuple[Piece, ...]
    vars: tuple[Var, ...] = ()


def binary(name: str, title: str = "") -> Var:
    return Var(name, Fraction(0), Fraction(1), "B", title)


def merged(*parts: Coefs) -> Coefs:
    """Sum of coefficient maps, zeros dropped."""
    total: Coefs = {}
    for part in parts:
        for name, value in part.items():
            total[name] = total[name] + value if name in total else value
    return {name: value for name, value in total.items() if value}


def scaled(coefs: Coefs, factor: Fraction) -> Coefs:
    """Each coefficient times the factor; most count whole, and are spared the sum."""
    return {name: factor if value is ONE else value * factor for name, value in coefs.items()}
