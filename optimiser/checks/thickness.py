"""The judge on thickness: gums by equivalents, times glycerol, times powders, from exact shares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Thickness
from optimiser.domain.substance import Substance
from optimiser.science import body as science
from optimiser.science.body import Body, Window
from optimiser.science.charge import Unknown
from optimiser.science.constants import End
from optimiser.science.thickness import Gum, synergies
from optimiser.units.numbers import show_number

UNIT = "Pa.s"
PACKED = "the powders pack solid"
ENDS: tuple[End, End, End] = ("low", "value", "high")
ERROR = "the laws err by a factor of about 3, so one reading settles more than any sum"


@dataclass(frozen=True, slots=True)
class Thick:
    """Pa.s at the middle of the data, and at their ends (None where it cannot be told there)."""

    value: Fraction
    low: Fraction | None
    high: Fraction | None


def thickness_of(
    amounts: Amounts, shear: Fraction, window: Window | None, substances: Mapping[str, Substance]
) -> Thick | Unknown:
    """Thickness of the whole pot, or what stands in the way."""
    low, value, high = (_at(amounts, shear, window, substances, end) for end in ENDS)
    if isinstance(value, Unknown):
        return value
    ends = (end if isinstance(end, Fraction) else None for end in (low, high))
    return Thick(value, *ends)


def _at(
    amounts: Amounts, shear: Fraction, window: Window | None, substances: Mapping[str, Substance], end: End
) -> Fraction | Unknown:
    grams = {one.id: amounts.of(one.id) for one in amounts.present}
    bodies: dict[str, Body] = {}
    for one in amounts.present:
        body = science.body_of(one, end)
        if isinstance(body, Unknown):
            return Unknown(f"{one.name}: {body.reason}")
        bodies[one.id] = body
    touchy = any(b.gum is not None and b.touchy.salt_half is not None for b in bodies.values())
    salt = science.salt_in(grams, amounts.ingredients, substances, window) if touchy else Fraction(0)
    gums: list[tuple[Gum, Fraction]] = []
    for name, body in bodies.items():
        gum = science.gum_under(body, window, salt)
        if isinstance(gum, Unknown):
            return Unknown(f"{amounts.ingredients[name].name}: {gum.reason}")
        if gum is not None:
            gums.append((gum, grams[name]))
    factors = science.factors(grams, bodies, salt)
    phase = sum((grams[name] * body.phase for name, body in bodies.items()), Fraction(0))
    if factors is None:
        return Unknown(PACKED if phase else "there is no water phase")
    return science.gum_part(gums, phase, shear) * factors.times


def judge_thickness(rule: Thickness, amounts: Amounts, request: Request) -> Verdict:
    """At the middle of the data, or at their worst ends; by reading where it is not predicted."""
    found = thickness_of(amounts, rule.shear, request.ph_window, request.substances)
    if not rule.predicted or isinstance(found, Unknown):
        why = f"; not predicted: {found.reason}" if isinstance(found, Unknown) else ""
        met = not rule.predicted
        return Verdict(rule, met, None, rule.low, rule.high, UNIT, None, f"held by reading{why}")
    pairs = synergies([one.inci for one in amounts.present])
    low, high = (found.low, found.high) if rule.head.at_worst else (found.value, found.value)
    margins = [] if rule.low is None else [None if low is None else low - rule.low]
    if rule.high is not None and not pairs:
        margins.append(None if high is None else rule.high - high)
    known = [margin for margin in margins if margin is not None]
    margin = min(known) if known else None
    met = len(known) == len(margins) and (margin is None or margin >= 0)
    note = f"predicted, by the data {_short(found.low)} to {_short(found.high)}; {ERROR}"
    if pairs and rule.high is not None:
        first, second, what = pairs[0]
        note = f"{note}; {first} and {second} are {what}: the upper limit is held by reading"
    return Verdict(
        rule,
        met,
        found.value,
        rule.low,
        rule.high,
        UNIT,
        margin,
        note + _below(amounts),
    )


def _short(value: Fraction | None) -> str:
    return "solid" if value is None else show_number(value, 3 if value < 1 else 1 if value < 10 else 0)


def _below(amounts: Amounts) -> str:
    """Swelling clays stand for their volume alone."""
    names = [i.name for i in amounts.present if i.kind == "clay-swelling"]
    return f"; of {', '.join(names)} only the volume counts, not its yield" if names else ""
