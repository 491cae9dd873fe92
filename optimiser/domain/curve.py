"""The curve between two wishes: formulas of which none is better in both."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request

Spot = tuple[Fraction, Fraction]
"""A value of the first measure and one of the second, each in its unit."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One of the two measures: the words it was asked by, its unit, and whether more of it is wanted."""

    asked: str
    name: str
    unit: str
    more: bool
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Shift:
    """How one ingredient differs from the formula shown before, in % w/w."""

    ingredient: str
    before: Fraction
    after: Fraction

    @property
    def came(self) -> bool:
        return not self.before

    @property
    def went(self) -> bool:
        return not self.after


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A formula on the printed steps that the judge passed; `shifts` are told from the one before."""

    number: int
    first: Fraction
    second: Fraction
    proposal: Proposal
    shifts: tuple[Shift, ...] = ()


@dataclass(frozen=True, slots=True)
class Curve:
    """`pieces` is the curve between the steps, left to right; between two pieces it jumps.

    `exact`: proved that no formula lies beyond it by more than `within` of both spans. Where a prediction
    makes the rows straight lines, `by_rows` says what was proved holds for the rows. `left_out` corners are
    not shown for their number, `refused` ones because no formula on the steps passed the judge there.
    """

    request: Request
    first: Axis
    second: Axis
    base: tuple[Fraction | None, Fraction | None]
    pieces: tuple[tuple[Spot, ...], ...]
    points: tuple[CurvePoint, ...]
    exact: bool
    within: Fraction
    by_rows: bool = False
    left_out: int = 0
    refused: int = 0
    solves: int = 0
