"""A response: a score or a reading as trials taught it, a blending model with the region it was fitted in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from optimiser.domain.ingredient import Place


@dataclass(frozen=True, slots=True)
class Reach:
    """From where to where the trials had an ingredient, in % w/w of the formula."""

    ingredient: str
    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class Fitted:
    """One file of `responses/`.

    What the trials varied counts as a part of its own sum; `lows` are taken off these parts first and the
    rest is scaled to one. A term multiplies such parts: `coefficients` go with `terms`, `covariance` has a
    row for each. `together` bounds the sum of what is varied, `others` every other ingredient that the
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
    place: Place = Place()

    @property
    def straight(self) -> bool:
        """Whether no term multiplies two parts."""
        return all(len(term) == 1 for term in self.terms)

    @property
    def known(self) -> frozenset[str]:
        """Ingredients that some trial had, or that count as without effect."""
        return frozenset({one.ingredient for one in (*self.varied, *self.others)} | set(self.free))
