"""The judge on fitted responses: the whole model in exact fractions, and only where the trials were."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.outcome import Verdict
from optimiser.domain.response import Fitted, Reach
from optimiser.domain.rules import Response
from optimiser.units.numbers import show_number

ZERO = Fraction(0)
HAIR = Fraction(1, 10**9)
OUTSIDE = "outside what can be predicted"


@dataclass(frozen=True, slots=True)
class Taught:
    """The response at a formula, and the variance of one new jar there."""

    value: Fraction
    variance: Fraction

    def reach(self, fitted: Fitted) -> Fraction:
        """How far a jar may be off, in 95 of 100; rounded to what floats hold."""
        return fitted.sure * Fraction(repr(math.sqrt(self.variance))) if self.variance > 0 else ZERO


def strays(fitted: Fitted, amounts: Amounts) -> tuple[str, ...]:
    """What lies outside of the trials, each with its share and where they were; nothing where all is in."""
    found = [*_strange(fitted, amounts)]
    found += [told for one in (*fitted.varied, *fitted.others) if (told := _off(one, amounts))]
    total = _varied(fitted, amounts)
    low, high = fitted.together
    if not low <= total <= high:
        names = " + ".join(one.ingredient for one in fitted.varied)
        found.append(f"{names} {_short(total)} % (trials: {_short(low)} to {_short(high)} %)")
    return tuple(found)


def _strange(fitted: Fitted, amounts: Amounts) -> Iterator[str]:
    for one in amounts.present:
        if one.id not in fitted.known:
            yield f"{one.name} (in no trial)"


def _off(one: Reach, amounts: Amounts) -> str:
    share = amounts.of(one.ingredient)
    if one.low <= share <= one.high:
        return ""
    known = amounts.ingredients.get(one.ingredient)
    name = known.name if known is not None else one.ingredient
    return f"{name} {_short(share)} % (trials: {_short(one.low)} to {_short(one.high)} %)"


def _varied(fitted: Fitted, amounts: Amounts) -> Fraction:
    return sum((amounts.of(one.ingredient) for one in fitted.varied), ZERO)


def taught(fitted: Fitted, amounts: Amounts) -> Taught | None:
    """The model's value wherever it is; None where nothing of what was varied is there."""
    return taught_at(fitted, {one.ingredient: amounts.of(one.ingredient) for one in fitted.varied})


def taught_at(fitted: Fitted, shares: Mapping[str, Fraction]) -> Taught | None:
    """The same at shares of what was varied, in any unit."""
    total = sum((shares[one.ingredient] for one in fitted.varied), ZERO)
    if not total:
        return None
    left = 1 - sum(fitted.lows)
    part = {
        one.ingredient: (shares[one.ingredient] / total - low) / left
        for one, low in zip(fitted.varied, fitted.lows, strict=True)
    }
    at = [math.prod((part[name] for name in term), start=Fraction(1)) for term in fitted.terms]
    value = sum((b * x for b, x in zip(fitted.coefficients, at, strict=True)), ZERO)
    size = range(len(at))
    spread = sum((fitted.covariance[i][j] * at[i] * at[j] for i in size for j in size), ZERO)
    return Taught(value, fitted.deviation**2 + spread)


def judge_response(rule: Response, amounts: Amounts) -> Verdict:
    """At the model's value, or where it holds surely a jar's error away from it; never outside the trials."""
    fitted = rule.fitted
    told = taught(fitted, amounts)
    away = strays(fitted, amounts)
    if not rule.predicted or told is None or away:
        why = "; ".join(away) or "nothing of what was varied is there"
        note = f"{OUTSIDE}: {why}" if rule.predicted else f"held by reading; {OUTSIDE}: {why}"
        return Verdict(rule, not rule.predicted, None, rule.low, rule.high, fitted.unit, None, note)
    gaps = [] if rule.low is None else [told.value - rule.low]
    gaps += [] if rule.high is None else [rule.high - told.value]
    margin = min(gaps, default=None)
    met = margin is None or margin >= 0
    reach = told.reach(fitted)
    if rule.head.at_worst and margin is not None:
        met = margin >= 0 and margin**2 >= fitted.sure**2 * told.variance
        margin = max(margin - reach, ZERO) if met else min(margin - reach, -HAIR)
    note = f"predicted from {trials_of(fitted)}; one jar may be off by {_short(reach)}"
    return Verdict(rule, met, told.value, rule.low, rule.high, fitted.unit, margin, note)


def trials_of(fitted: Fitted) -> str:
    """`mask-1 … mask-9`, or the one that there is."""
    names = fitted.trials
    return " … ".join(dict.fromkeys((names[0], names[-1]))) if names else "trials"


def _short(value: Fraction) -> str:
    return show_number(value, 2 if abs(value) >= 1 else 3)
