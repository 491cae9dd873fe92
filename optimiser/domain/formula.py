"""A formula: phases, lines and steps."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.container import Container
from optimiser.domain.ingredient import Place
from optimiser.domain.product import Product
from optimiser.domain.wanted import Wanted


@dataclass(frozen=True, slots=True)
class Dosed:
    """A line added by reading: `to` names the reading ("pH 5.0"), the line's share is the ceiling."""

    to: str


@dataclass(frozen=True, slots=True)
class Line:
    """One ingredient in one phase, in % w/w. `fills` marks the line that makes up 100 %."""

    ingredient: str
    percent: Fraction
    fills: bool = False
    dosed: Dosed | None = None
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Step:
    """What is done, and the ingredients it is about; without any it is about the phase."""

    text: str
    about: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Phase:
    name: str
    title: str
    lines: tuple[Line, ...]
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Parent:
    """Where an adopted formula comes from: the formula before it, what was asked, the saved proposal."""

    formula: str
    asked: str = ""
    proposal: str = ""


@dataclass(frozen=True, slots=True)
class Formula:
    """A base formula whose lines sum to exactly 100 %.

    `targets` are kept unresolved (`Wanted`): their numbers may speak of the base.
    `batch_g` is the usual batch in grams.
    """

    id: str
    name: str
    product: Product
    phases: tuple[Phase, ...]
    batch_g: Fraction
    hero: tuple[str, ...] = ()
    claims: tuple[str, ...] = ()
    targets: tuple[Wanted, ...] = ()
    note: str = ""
    parent: Parent | None = None
    pack: Container | None = None
    place: Place = Place()

    @property
    def lines(self) -> tuple[tuple[str, Line], ...]:
        """(phase name, line) in the order written."""
        return tuple((phase.name, line) for phase in self.phases for line in phase.lines)

    @property
    def ingredients(self) -> frozenset[str]:
        return frozenset(line.ingredient for _, line in self.lines)
