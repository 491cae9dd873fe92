"""Positive charge beside clay and beside negative charge, counted: what may go onto the clay or fall out."""

from __future__ import annotations

from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Remark
from optimiser.requests.sentences import number
from optimiser.science.compatibility import MODEL, bound_by_clay, excess, exchange
from optimiser.science.constants import reading

ZERO, HUNDRED = Fraction(0), Fraction(100)
ABOUT = "opposite charges"


def opposite_charges(now: Amounts) -> list[Remark]:
    """Nothing where no line has a known lasting positive charge, or nothing stands against it."""
    cations = [one.name for one in now.present if reading(one, "cationic_charge")]
    positive = now.sum(lambda one: reading(one, "cationic_charge") or ZERO)
    if not positive:
        return []
    clay, negative = now.sum(_exchanges), now.sum(lambda one: reading(one, "anionic_charge") or ZERO)
    has = f"{', '.join(cations)}: {_two(positive)} meq of positive charge in 100 g"
    found = []
    if clay:
        share = HUNDRED * bound_by_clay(positive, clay) / positive
        onto = f"on paper up to {_two(share)} % of it goes onto the clay"
        found.append(
            f"{has}, and the clay can exchange {_two(clay)}: {onto}. The numbers are mostly assumed."
        )
    if negative and excess(positive, negative):
        much = f"{has} beside {_two(negative)} of negative charge, more than a twentieth of it"
        found.append(f"{much}: haze or clumps may come; a test tube of both at their dose tells.")
    return [Remark(ABOUT, text, MODEL.sources[0]) for text in found]


def _exchanges(one: Ingredient) -> Fraction:
    return exchange(reading(one, "exchange_capacity") or ZERO)


def _two(value: Fraction) -> str:
    return number(round(value, 2))
