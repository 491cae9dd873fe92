"""The natural-origin share of a formula, and the claims that state one."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.checks.amounts import Amounts
from optimiser.science.natural_origin import content

FIGURE = "natural_origin"
End = Literal["low", "value", "high"]
_NUMBER = re.compile(r"([0-9]{1,3}(?:[.,][0-9]{1,9})?)\s*%")
_MOST = re.compile(r"at most|up to|no more than", re.IGNORECASE)
_ORIGIN = re.compile(r"natural[\s_-]+origin", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class OriginClaim:
    """A claim that states a share of natural origin, in %: at least, or at most, so much."""

    text: str
    percent: Fraction
    at_most: bool

    def holds(self, share: Fraction) -> bool:
        return share <= self.percent if self.at_most else share >= self.percent


def natural_origin(amounts: Amounts, end: End = "value") -> Fraction | None:
    """% of the formula; None where a line has no figure."""
    figures = [(share, amounts.ingredients[slot.ingredient].figure(FIGURE)) for slot, share in amounts.lines]
    known = [(share, getattr(figure, end) / 100) for share, figure in figures if figure is not None]
    return content(known) * 100 if known and len(known) == len(figures) else None


def origin_claims(claims: Iterable[str]) -> tuple[OriginClaim, ...]:
    """Claims that name natural origin and one number in %."""
    found = []
    for text in claims:
        numbers = _NUMBER.findall(text)
        if _ORIGIN.search(text) and len(numbers) == 1:
            percent = Fraction(numbers[0].replace(",", "."))
            found.append(OriginClaim(text, percent, bool(_MOST.search(text))))
    return tuple(found)
