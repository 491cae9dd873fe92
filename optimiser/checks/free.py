"""How much of a preservative reaches the water free and undissociated, in its own least free doses.

A screen on paper: what clay, micelles, oil and the pack hold back is mostly assumed, and only a challenge
test decides. A blend is counted substance by substance.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Reaches
from optimiser.science.actives import Lender, constants_of, lenders_among
from optimiser.science.constants import End, claim
from optimiser.science.preservation import SCREEN_STRENGTH, Claim, free, pka_shift, pot, undissociated
from optimiser.units.numbers import show_number

UNIT = "least free doses"


@dataclass(frozen=True, slots=True)
class FreeDoses:
    """The best single preservative against a group: least free doses at the middle and at both ends.

    `name` is that of the preservative, with the lines that bring it where it is no line itself.
    """

    ingredient: Ingredient
    name: str
    value: Fraction
    low: Fraction
    high: Fraction


def free_doses(group: str, amounts: Amounts, request: Request, only: str = "") -> FreeDoses | None:
    """The best at middle values, at the top of the request's pH window; or the one with the id `only`.

    None where no preservative has a least free dose, or what binds it is not known of some line.
    """
    top = None if request.ph_window is None else request.ph_window[1]
    found = [one for one in _all(group, amounts, request, top) if only in ("", one.ingredient.id)]
    return max(found, key=lambda one: (one.value, one.ingredient.id), default=None)


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
    note = f"by {best.name}, {spread}; most binding is assumed, {_wall_words(request)}"
    return Verdict(rule, value >= 1, value, Fraction(1), None, UNIT, value - 1, note)


def _wall_words(request: Request) -> str:
    if request.container is None:
        return "and no pack is stated, so what it takes is not counted"
    return f"what the pack ({request.container.name}) takes is counted"


def _all(group: str, amounts: Amounts, request: Request, top: Fraction | None) -> list[FreeDoses]:
    lines = amounts.present
    names = {
        one.ingredient.id: one for one in lenders_among(group, request.lenders, lines, request.substances)
    }
    rich = {
        one.ingredient.id: one
        for one in lenders_among(group, request.lenders, lines, request.substances, "high")
    }
    found = [_of(rich[name], names.get(name), group, amounts, request, top) for name in sorted(rich)]
    return [one for one in found if one is not None]


def _of(
    rich: Lender, poor: Lender | None, group: str, amounts: Amounts, request: Request, top: Fraction | None
) -> FreeDoses | None:
    """`poor` counts blends at their low content (None: it may be none), `rich` at their high one."""
    poor = poor or replace(rich, parts={})
    ends = [_doses(one, group, amounts, request, top, end) for one, end in _ends(poor, rich)]
    if any(value is None for value in ends):
        return None
    low, value, high = (end or Fraction(0) for end in ends)
    return FreeDoses(rich.ingredient, _name(rich, amounts), value, low, high)


def _ends(poor: Lender, rich: Lender) -> tuple[tuple[Lender, End], ...]:
    """Worst, middle and best: what binds, dissolves away and is asked for most, in the middle, least."""
    return ((poor, "high"), (poor, "value"), (rich, "low"))


def _name(lender: Lender, amounts: Amounts) -> str:
    if lender.ingredient.id in lender.parts:
        return lender.ingredient.name
    holders = ", ".join(amounts.ingredients[name].name for name in sorted(lender.parts))
    return f"{lender.ingredient.name} in {holders}"


def _doses(
    lender: Lender, group: str, amounts: Amounts, request: Request, top: Fraction | None, end: End
) -> Fraction | None:
    """None where it cannot be told; without a pH no acid counts, what is no acid does."""
    made = constants_of(lender, group, request.substances, end, end)
    whole = _claim(amounts, request, end)
    if made is None or whole is None or (top is None and made.pka is not None):
        return None
    alpha = undissociated(top or Fraction(0), made.pka, pka_shift(SCREEN_STRENGTH))
    grams = sum((amounts.of(name) * part for name, part in lender.parts.items()), Fraction(0))
    return free(grams, whole, made, alpha) / made.least


def _claim(amounts: Amounts, request: Request, end: End) -> Claim | None:
    claims = [(share, claim(amounts.ingredients[slot.ingredient], end)) for slot, share in amounts.lines]
    known = [(share, one) for share, one in claims if one is not None]
    if len(known) != len(claims):
        return None
    wall: Fraction = Fraction(0) if request.container is None else getattr(request.container.takes, end)
    return replace(pot(known), pack=wall * sum((share for share, _ in known), Fraction(0)) / 100)
