"""A request: everything the solver and the judge need, with every number settled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from optimiser.domain.brief import Aim
from optimiser.domain.container import Container
from optimiser.domain.firm import Firm
from optimiser.domain.formula import Dosed, Formula
from optimiser.domain.ingredient import Ingredient, Place
from optimiser.domain.product import Product
from optimiser.domain.rules import Level, Mean, Rule, Share
from optimiser.domain.selector import Selector
from optimiser.domain.substance import Substance

GRID = Fraction(1, 1000)
"""Step of every printed share, in % w/w."""


@dataclass(frozen=True, slots=True, order=True)
class Slot:
    """A place an ingredient may stand in."""

    ingredient: str
    phase: str

    def __str__(self) -> str:
        return f"{self.ingredient}@{self.phase}"


@dataclass(frozen=True, slots=True)
class Pull:
    """A measure that `closest` keeps near `target`; leaving by one `half_width` costs 2 points."""

    name: str
    of: Share | Level | Mean
    target: Fraction
    half_width: Fraction


@dataclass(frozen=True, slots=True)
class Weights:
    """What departure counts: points moved, parts of a kept line, carried measures, new lines."""

    points: Fraction = Fraction(1, 2)
    parts: Fraction = Fraction(1)
    pulls: Fraction = Fraction(2)
    newcomer: Fraction = Fraction(5)
    line: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class SetAside:
    """An ingredient that was not considered, and why; `place` is where it stands in the files."""

    ingredient: str
    reason: str
    name: str = ""
    place: Place = field(default=Place(), compare=False)


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to read beside the answer: `about` names the line or rule it stands beside."""

    about: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class PairRemark:
    """A remark that holds only while something of `a` stands beside something of `b`."""

    remark: Remark
    a: Selector
    b: Selector


@dataclass(frozen=True, slots=True)
class LabelLimit:
    """A name the label has to state above `threshold` % w/w: the sum of share times factor over `members`."""

    name: str
    members: tuple[tuple[str, Fraction], ...]
    threshold: Fraction
    source: str


@dataclass(frozen=True, slots=True)
class Request:
    """One question, closed. Amounts are in % w/w.

    `base` gives the base's amount per slot (missing: not in the base). `ingredients` holds exactly those that
    have a slot. `fixed` slots keep their amount (lines dosed to a reading stand at their ceiling). `known`
    names substances the base already has: another strength of one of them is no newcomer. `labels` are the
    allergens a label has to name for the product as it will be, `labels_before` those for the base's.
    `lenders` are ingredients of the worktable whose least free doses count for their substance in any line;
    `container` is the pack, None where none is stated. Shares
    are whole steps of `grid`; None where they come from weights, which have steps of their own.
    """

    name: str
    formula: Formula
    product: Product
    ingredients: Mapping[str, Ingredient]
    slots: tuple[Slot, ...]
    base: Mapping[Slot, Fraction]
    filler: Slot
    fixed: Mapping[Slot, Fraction]
    dosed: Mapping[Slot, Dosed]
    newcomers: frozenset[str]
    rules: tuple[Rule, ...]
    pulls: tuple[Pull, ...]
    aim: tuple[Aim, ...]
    currency: str
    batch_g: Fraction
    ph_window: tuple[Fraction, Fraction] | None = None
    shelf_g: Mapping[str, Fraction] | None = None
    substances: Mapping[str, Substance] = field(default_factory=dict)
    weights: Weights = Weights()
    set_aside: tuple[SetAside, ...] = ()
    dropped: tuple[Remark, ...] = ()
    remarks: tuple[Remark, ...] = ()
    pairs: tuple[PairRemark, ...] = ()
    by_hand: tuple[Remark, ...] = ()
    consequences: tuple[Remark, ...] = ()
    labels: tuple[LabelLimit, ...] = ()
    labels_before: tuple[LabelLimit, ...] = ()
    lenders: Mapping[str, Ingredient] = field(default_factory=dict)
    container: Container | None = None
    firm: Firm | None = None
    grid: Fraction | None = GRID

    def base_of(self, ingredient: str) -> Fraction:
        """What the base has of an ingredient over all its lines, % w/w."""
        return sum((share for slot, share in self.base.items() if slot.ingredient == ingredient), Fraction(0))
