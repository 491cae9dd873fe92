"""What a trial is expected to read, as the judge foretells it of the formula."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from optimiser.checks.acidity import Reach, reach_of
from optimiser.checks.amounts import Amounts
from optimiser.checks.densities import density_of
from optimiser.checks.forecasts import Told, foretell
from optimiser.checks.thickness import Thick, thickness_of
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Acidity, Thickness
from optimiser.domain.trials import Expected
from optimiser.science.acidity import PhResult

ONE = Fraction(1)
ACTIVITY_ERROR = Fraction(5, 1000)
LAWS_ERR = 3
"""The laws of thickness err by a factor of about so much."""
TARGET = re.compile(r"pH\s*([0-9]+(?:[.,][0-9]+)?)", re.IGNORECASE)


def expected_of(request: Request, shares: Mapping[Slot, Fraction]) -> tuple[Expected, ...]:
    """pH, thickness, density and water activity, each only where every number it needs is known."""
    amounts = Amounts(
        tuple(sorted((slot, share) for slot, share in shares.items() if share)), request.ingredients
    )
    density = density_of(amounts)
    found = [*_acidity(request, amounts), _thickness(request, amounts)]
    if density is not None:
        found.append(Expected("density", density.value, density.low, density.high, "g/ml"))
    return tuple(one for one in (*found, _water_activity(request, amounts)) if one is not None)


def _acidity(request: Request, amounts: Amounts) -> list[Expected]:
    """The finished pH; where a line is dosed to it, the pH before that line and with all of it too."""
    dosed = tuple(sorted({slot.ingredient for slot in request.dosed}))
    reach = reach_of(dosed, amounts, request)
    if reach is None or not (reach.acid.valid and reach.alkaline.valid):
        return []
    if not dosed:
        return [_ph("ph", reach.acid, reach.acid_range)]
    ends = (reach.alkaline, reach.alkaline_range), (reach.acid, reach.acid_range)
    before, after = ends if _sinks(request, amounts, dosed) else ends[::-1]
    return [*_window(request), _ph("ph-before", *before), _ph("ph-all", *after)]


def _sinks(request: Request, amounts: Amounts, dosed: tuple[str, ...]) -> bool:
    """Whether the pH without the dosed lines is the high end."""
    without = Amounts(
        tuple(one for one in amounts.lines if one[0].ingredient not in dosed), amounts.ingredients
    )
    alone = reach_of((), without, request)
    both: Reach | None = reach_of(dosed, amounts, request)
    if alone is None or both is None:
        return True
    middle = ((both.alkaline.ph or 0.0) + (both.acid.ph or 0.0)) / 2
    return (alone.acid.ph or 0.0) >= middle


def _window(request: Request) -> list[Expected]:
    """The window that the adjuster is dosed into, at what its line is dosed to, else at its middle."""
    rules = [rule for rule in request.rules if isinstance(rule, Acidity) and rule.head.rank is None]
    found = [TARGET.fullmatch(dosed.to.strip()) for dosed in request.dosed.values()]
    targets = sorted({Fraction(one[1].replace(",", ".")) for one in found if one})
    if not rules:
        return [Expected("ph", one, one, one, "") for one in targets] if len(targets) == 1 else []
    low, high = max(rule.low for rule in rules), min(rule.high for rule in rules)
    to = targets[0] if len(targets) == 1 and low <= targets[0] <= high else (low + high) / 2
    return [Expected("ph", to, low, high, "")] if low <= high else []


def _ph(measure: str, found: PhResult, ends: tuple[float, float]) -> Expected:
    value, low, high = (Fraction(round((end or 0.0) * 100), 100) for end in (found.ph, *ends))
    error = Fraction(round(found.model_error * 100), 100)
    return Expected(measure, value, min(low, value), max(high, value), "", error)


def _thickness(request: Request, amounts: Amounts) -> Expected | None:
    """At the shear that a rule names, else at 1/s; its ends hold the factor by which the laws err."""
    shear = next((rule.shear for rule in request.rules if isinstance(rule, Thickness)), ONE)
    told = thickness_of(amounts, shear, request.ph_window, request.substances)
    if not isinstance(told, Thick) or told.value < Fraction(1, 100):
        return None
    ends = [end for end in (told.low, told.high) if end is not None]
    low, high = min(*ends, told.value / LAWS_ERR), max(*ends, told.value * LAWS_ERR)
    value, low, high = (_three_digits(end) for end in (told.value, low, high))
    return Expected("thickness", value, low, high, "Pa.s", rate=shear)


def _three_digits(value: Fraction) -> Fraction:
    return Fraction(f"{float(value):.3g}")


def _water_activity(request: Request, amounts: Amounts) -> Expected | None:
    told = foretell("water_activity", amounts, request.ph_window, request.substances)
    if not isinstance(told, Told):
        return None
    value, low, high = (round(end, 3) for end in (told.value, told.low, told.high))
    return Expected("water-activity", value, min(low, value), max(high, value), "", ACTIVITY_ERROR)
