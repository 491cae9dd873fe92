"""A worktable: the folder that holds ingredients, shelf, clashes, formulas and briefs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Literal

from optimiser.domain.brief import Brief
from optimiser.domain.container import Container
from optimiser.domain.costs import Costs
from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import Ingredient, Place
from optimiser.domain.learned import Learned
from optimiser.domain.response import Fitted
from optimiser.domain.selector import Selector
from optimiser.domain.substance import Substance


@dataclass(frozen=True, slots=True)
class Balance:
    """A balance: what it reads and how much it carries, in grams."""

    reads_g: Fraction
    up_to_g: Fraction


@dataclass(frozen=True, slots=True)
class Settings:
    """worktable.yaml. Money is in `currency`; limits are those in force on `rules_date`."""

    name: str
    currency: str
    jurisdiction: str
    rules_date: date
    decimal: Literal["point", "comma"] = "point"
    batch_g: Fraction = Fraction(250)
    balances: tuple[Balance, ...] = (Balance(Fraction(1, 100), Fraction(200)),)
    pack: Container | None = None


@dataclass(frozen=True, slots=True)
class Lot:
    """What is there of an ingredient. `expires` None means no date is known."""

    ingredient: str
    lot: str
    grams: Fraction
    price_per_kg: Fraction | None = None
    opened: date | None = None
    expires: date | None = None
    papers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Condition:
    """One part of a clash's `when`: a product fact compared with a value."""

    fact: str
    sign: Literal["=", "!=", "<", "<=", ">", ">="]
    value: str


@dataclass(frozen=True, slots=True)
class ClashRow:
    """One row of clashes.csv."""

    id: str
    a: Selector
    b: Selector
    when: tuple[Condition, ...]
    strength: Literal["must", "should", "note"]
    why: str
    source: str
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Worktable:
    """All that the files say, cross-checked; `folder` as the user wrote it, `digest` a hash of the files.

    `substances` are the folder's own, by name in lower case; they add to the reference or take its place.
    """

    folder: str
    settings: Settings
    ingredients: Mapping[str, Ingredient]
    clashes: tuple[ClashRow, ...]
    shelf: tuple[Lot, ...]
    formulas: Mapping[str, Formula]
    briefs: Mapping[str, Brief]
    digest: str = ""
    substances: Mapping[str, Substance] = field(default_factory=dict)
    costs: Costs = field(default_factory=Costs)
    learned: tuple[Learned, ...] = ()
    responses: Mapping[str, Fitted] = field(default_factory=dict)
