"""The judge on free liquid: what is left of it after the powders have drunk, in % of the formula."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.checks.firm import shaken
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import FreeLiquid
from optimiser.science.charge import Unknown
from optimiser.science.wetting import liquid_of, uptake_of
from optimiser.units.numbers import show_number

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Left:
    """% of the formula, at the middle of the data and where the powders drink most and least.

    `numbers` are what each ingredient leaves: at the least, in the middle, at the most.
    """

    value: Fraction
    low: Fraction
    high: Fraction
    numbers: tuple[tuple[Fraction, Fraction, Fraction], ...] = ()


def left_of(amounts: Amounts, oily: bool) -> Left | Unknown:
    """Liquid less what is drunk, or what stands in the way."""
    found: dict[str, tuple[Fraction, Fraction, Fraction]] = {}
    for one in amounts.present:
        liquid, drunk = liquid_of(one, oily), uptake_of(one, oily)
        if isinstance(liquid, Unknown):
            return Unknown(f"{one.name}: {liquid.reason}")
        if isinstance(drunk, Unknown):
            return Unknown(f"{one.name}: {drunk.reason}")
        ends = (ZERO, ZERO, ZERO) if drunk is None else (drunk.value, drunk.high, drunk.low)
        found[one.id] = (liquid - ends[0], liquid - ends[1], liquid - ends[2])

    def total(place: int) -> Fraction:
        def per_gram(one: Ingredient) -> Fraction:
            return found[one.id][place]

        return amounts.sum(per_gram)

    numbers = [(amounts.of(name), found[name]) for name in sorted(found)]
    parts = tuple((share * low, share * value, share * high) for share, (value, low, high) in numbers)
    return Left(total(0), total(1), total(2), parts)


def judge_free_liquid(rule: FreeLiquid, amounts: Amounts) -> Verdict:
    """At the middle of the data or at its worst ends; by reading where it is not predicted."""
    left = left_of(amounts, rule.oily)
    if not rule.predicted or isinstance(left, Unknown):
        why = f"; not predicted: {left.reason}" if isinstance(left, Unknown) else ""
        return Verdict(
            rule, not rule.predicted, None, rule.low, rule.high, "%", None, f"held by reading{why}"
        )
    low, high = (left.low, left.high) if rule.head.at_worst else (left.value, left.value)
    if rule.head.off_at_once is not None and not rule.head.at_worst:
        low, high = shaken(left.numbers, rule.head.off_at_once)
    margins = [] if rule.low is None else [low - rule.low]
    margins += [] if rule.high is None else [rule.high - high]
    margin = min(margins) if margins else None
    met = margin is None or margin >= 0
    spread = f"{show_number(left.low, 1)} to {show_number(left.high, 1)}"
    note = f"predicted, by the data {spread}; the sum errs by about 15 %"
    return Verdict(rule, met, left.value, rule.low, rule.high, "%", margin, note)
