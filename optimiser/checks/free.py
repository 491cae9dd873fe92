"""How much of a preservative reaches the water free and undissociated, in its own least free doses.

A screen on paper: what clay, micelles and oil hold back is mostly assumed, and only a challenge test decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Reaches
from optimiser.science.constants import End, claim, free_preservative
from optimiser.science.preservation import SCREEN_STRENGTH, Claim, free, pka_shift, pot, undissociated
from optimiser.units.numbers import show_number

UNIT = "least free doses"


@dataclass(frozen=True, slots=True)
class FreeDoses:
    """The best single preservative against a group: least free doses at the middle and at both ends."""

    ingredient: Ingredient
    value: Fraction
    low: Fraction
    high: Fraction


def free_doses(group: str, amounts: Amounts, request: Request) -> FreeDoses | None:
    """The best at middle values, at the top of the request's pH window.

    None where no preservative has a least free dose, or what binds it is not known of some line.
    """
    top = None if request.ph_window is None else request.ph_window[1]
    return max(
        _all(group, amounts, request, top), key=lambda one: (one.value, one.ingredient.id), default=None
    )


def judge_reaches(rule: Reaches, amounts: Amounts, request: Request) -> Verdict:
    """How many least free doses the best single preservative stands at, at middle or worst values."""

    def counts(one: FreeDoses) -> Fraction:
        return one.low if rule.head.at_worst else one.value

    found = _all(rule.group, amounts, request, rule.ph_top)
    if not found:
        note = "what powders and micelles hold, or the least free dose, is not known"
        return Verdict(rule, False, None, Fraction(1), None, UNIT, None, note)
    best = max(found, key=lambda one: (counts(one), one.ingredient.id))
    value = counts(best)
    spread = f"{show_number(best.low, 2)} to {show_number(best.high, 2)} by the data"
    note = f"by {best.ingredient.name}, {spread}; most binding is assumed"
    return Verdict(rule, value >= 1, value, Fraction(1), None, UNIT, value - 1, note)


def _all(group: str, amounts: Amounts, request: Request, top: Fraction | None) -> list[FreeDoses]:
    found = [_of(one, group, amounts, request, top) for one in amounts.present]
    return [one for one in found if one is not None]


def _of(
    one: Ingredient, group: str, amounts: Amounts, request: Request, top: Fraction | None
) -> FreeDoses | None:
    ends = [_doses(one, group, amounts, request, top, *pair) for pair in _PAIRS]
    if any(value is None for value in ends):
        return None
    low, value, high = (end or Fraction(0) for end in ends)
    return FreeDoses(one, value, low, high)


_PAIRS: tuple[tuple[End, End], ...] = (("high", "high"), ("value", "value"), ("low", "low"))
"""(end of what binds and dissolves away, end of the least free dose): the worst, the middle, the best."""


def _doses(
    one: Ingredient,
    group: str,
    amounts: Amounts,
    request: Request,
    top: Fraction | None,
    bound: End,
    least: End,
) -> Fraction | None:
    """None where it cannot be told; without a pH no acid counts, what is no acid does."""
    made = free_preservative(one, group, request.substances, bound, least)
    whole = _claim(amounts, bound)
    if made is None or whole is None or (top is None and made.pka is not None):
        return None
    alpha = undissociated(top or Fraction(0), made.pka, pka_shift(SCREEN_STRENGTH))
    return free(amounts.of(one.id), whole, made, alpha) / made.least


def _claim(amounts: Amounts, end: End) -> Claim | None:
    claims = [(share, claim(amounts.ingredients[slot.ingredient], end)) for slot, share in amounts.lines]
    known = [(share, one) for share, one in claims if one is not None]
    return pot(known) if len(known) == len(claims) else None
