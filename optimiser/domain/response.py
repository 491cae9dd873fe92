"""A response: a score or a reading as trials taught it, a blending model with the region it was fitted in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from optimiser.domain.ingredient import Place


def _times(one: Sequence[Fraction], other: Sequence[Fraction]) -> Fraction:
    return sum((a * b for a, b in zip(one, other, strict=True) if a and b), Fraction(0))


@dataclass(frozen=True, slots=True)
class Reach:
    """From where to where the trials had an ingredient, in % w/w of the formula."""

    ingredient: str
    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class Setting:
    """From where to where a setting of the work was varied; both ends alike where it is stated."""

    name: str
    unit: str
    low: Fraction
    high: Fraction

    @property
    def middle(self) -> Fraction:
        return (self.low + self.high) / 2

    def counted(self, value: Fraction) -> Fraction:
        """From -1 at the lower end to 1 at the upper."""
        return (value - self.middle) / ((self.high - self.low) / 2)


@dataclass(frozen=True, slots=True)
class Fitted:
    """One file of `responses/`.

    What the trials varied counts as a part of its own sum; `lows` are taken off these parts first and the
    rest is scaled to one. A term multiplies such parts: `coefficients` go with `terms`, `covariance` has a
    row for each. A term may name `settings` of the work as well, each counted from -1 to 1 over its span.
    `together` bounds the sum of what is varied, `others` every other ingredient that the
    trials had, all in % w/w; `free` ones may be there in any amount. `deviation` is the scatter of one jar
    about the model on `freedom` degrees; `sure` times its error is the distance that holds in 95 of 100
    jars. `scale` is that of a score, None for a reading in `unit`.
    """

    id: str
    name: str
    model: str
    varied: tuple[Reach, ...]
    together: tuple[Fraction, Fraction]
    terms: tuple[tuple[str, ...], ...]
    coefficients: tuple[Fraction, ...]
    covariance: tuple[tuple[Fraction, ...], ...]
    deviation: Fraction
    freedom: int
    sure: Fraction
    trials: tuple[str, ...]
    fitted: date
    lows: tuple[Fraction, ...]
    others: tuple[Reach, ...] = ()
    free: tuple[str, ...] = ()
    unit: str = ""
    scale: tuple[Fraction, Fraction] | None = None
    settings: tuple[Setting, ...] = ()
    place: Place = Place()

    @property
    def straight(self) -> bool:
        """Whether no term multiplies two parts."""
        made = {one.name for one in self.settings}
        return all(len([name for name in term if name not in made]) <= 1 for term in self.terms)

    @property
    def open_settings(self) -> tuple[Setting, ...]:
        """Settings that are not stated yet."""
        return tuple(one for one in self.settings if one.low < one.high)

    def made_so(self, made: Mapping[str, Fraction]) -> Fitted:
        """The same with every setting stated: a blending model of the lines alone, exact in all its terms.

        The parts sum to one, so what shifts all blends alike adds to the term of every single line.
        """
        at = {one.name: one.counted(made[one.name]) for one in self.open_settings}
        if not at:
            return self
        singles = tuple((one.ingredient,) for one in self.varied)
        rows: dict[tuple[str, ...], list[Fraction]] = {}
        for column, term in enumerate(self.terms):
            part = tuple(name for name in term if name not in at)
            by = math.prod((at[name] for name in term if name in at), start=Fraction(1))
            for own in (part,) if part else singles:
                rows.setdefault(own, [Fraction(0)] * len(self.terms))[column] += by
        return replace(
            self,
            terms=tuple(rows),
            coefficients=tuple(_times(row, self.coefficients) for row in rows.values()),
            covariance=tuple(
                tuple(_times(own, column) for own in rows.values())
                for column in ([_times(row, line) for line in self.covariance] for row in rows.values())
            ),
            settings=tuple(
                replace(one, low=made[one.name], high=made[one.name]) if one.name in at else one
                for one in self.settings
            ),
        )

    @property
    def known(self) -> frozenset[str]:
        """Ingredients that some trial had, or that count as without effect."""
        return frozenset({one.ingredient for one in (*self.varied, *self.others)} | set(self.free))
