"""What the models foretell of every jar, asked or not: body, free liquid, powders, water activity, frost."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from optimiser.checks.amounts import Amounts
from optimiser.checks.forecasts import HARDLY_ANY, UNITS, Told, foretell
from optimiser.checks.free_liquid import Left, left_of
from optimiser.checks.thickness import UNIT as THICK
from optimiser.checks.thickness import Thick, thickness_of
from optimiser.domain.outcome import Measure
from optimiser.domain.request import Remark, Request
from optimiser.domain.rules import FORECASTS, Forecast, ForecastOf, FreeLiquid, Response, Thickness
from optimiser.requests.sentences import first_upper, number
from optimiser.science import preservation
from optimiser.science.body import GRAINS, GUMS
from optimiser.science.charge import Unknown

LEAST_BODY = Fraction(1, 100)
"""Pa.s, ten times water: a jar thinner than that has no body to speak of."""
PLACES: dict[ForecastOf, int] = {
    "frost_proof": 1,
    "powder_volume": 1,
    "buffer": 1,
    "hlb": 1,
    "undissolved": 2,
}
ERRS: dict[ForecastOf, str] = {
    "water_activity": "water activity by about 0.005",
    "frost_proof": "the frost by half a degree at 20 % of a polyol",
    "powder_volume": "the powders' volume where clay swells, which takes up more",
    "buffer": "the buffer where clays answer slowly",
    "hlb": "the HLB by one or two",
    "undissolved": "what stays undissolved by about a third",
    "density": "",
    "allergens": "",
}
BODY_ERRS, LIQUID_ERRS = "the thickness by a factor of about 3", "the free liquid by about 15 %"
UNASKED: tuple[ForecastOf, ...] = ("water_activity", "frost_proof", "powder_volume", "buffer", "undissolved")
"""Forecasts that a jar has without being asked; the HLB of oils and emulsifiers stands by itself."""
NAMES: dict[ForecastOf, str] = {
    "frost_proof": "degrees below 0 °C without ice",
    "hlb": "HLB off what the oils ask",
    "allergens": "listed allergens that the label names",
}
PREDICTED = ", predicted"
FREE = " free against "
"""Between a preservative and the microbes that its free part is counted against."""
SILENT = (HARDLY_ANY, "no pH window is asked for", "there is no emulsion")
"""Why there is nothing to foretell at all: it is no gap in the data."""
Found = Told | Thick | Left | Unknown


@dataclass(frozen=True, slots=True)
class Model:
    """One measure of a jar: its name, unit, digits, what its sum errs by, and the sum itself."""

    name: str
    unit: str
    places: int
    errs: str
    of: Callable[[Amounts], Found]
    asked: bool


@dataclass(frozen=True, slots=True)
class Foretold:
    """A model and what it says of the jar."""

    model: Model
    will: Found

    @property
    def worth(self) -> Told | Thick | Left | None:
        """What is said where it was asked or says something; None where not."""
        if isinstance(self.will, Unknown) or not (self.model.asked or _worth_telling(self.model, self.will)):
            return None
        return self.will


def foretold_of(request: Request, now: Amounts) -> tuple[Foretold, ...]:
    """Every model of the jar, asked or not; each sum is done once."""
    return tuple(Foretold(model, model.of(now)) for model in _models(request, now))


def foretold_by_models(jar: Iterable[Foretold], base: Amounts) -> list[Measure]:
    """Base beside proposal: what a rule asks, and what any jar of such lines has."""
    found = []
    for one in jar:
        will, model = one.worth, one.model
        if will is None:
            continue
        was = model.of(base)
        before = None if isinstance(was, Unknown) else round(was.value, model.places)
        ends = (None if end is None else round(end, model.places) for end in (will.low, will.high))
        found.append(
            Measure(f"{model.name}{PREDICTED}", before, round(will.value, model.places), model.unit, *ends)
        )
    return found


def measure_of(rule: Thickness | FreeLiquid | Forecast | Response) -> str:
    """The name of the measure that a rule speaks of."""
    match rule:
        case Thickness():
            return f"{_body_name(rule.shear)}{PREDICTED}"
        case FreeLiquid():
            return f"free liquid{PREDICTED}"
        case Forecast():
            return f"{_name(rule.of)}{PREDICTED}"
        case Response():
            return f"{rule.fitted.name}{PREDICTED}"
        case _:
            assert_never(rule)


def errors_of_models(jar: Iterable[Foretold]) -> list[str]:
    """`the thickness by a factor of about 3`, for what is foretold of this formula, asked or not."""
    return [one.model.errs for one in jar if one.model.errs and one.worth is not None]


def untold_by_models(jar: Iterable[Foretold]) -> list[Remark]:
    """What could not be foretold for want of a number or of a law, and why; what was asked says so itself."""
    found = []
    for one in jar:
        if not one.model.asked and isinstance(one.will, Unknown) and one.will.reason not in SILENT:
            what = one.model.name.partition(" at ")[0]
            found.append((what, one.will.reason.rstrip(".")))
    by_reason: dict[str, list[str]] = {}
    for what, reason in found:
        by_reason.setdefault(reason, []).append(what)
    return [
        Remark("not predicted", f"{first_upper(' and '.join(names))}: not predicted, {reason}.")
        for reason, names in by_reason.items()
    ]


def _models(request: Request, now: Amounts) -> Iterable[Model]:
    yield from _bodies(request, now)
    yield from _liquids(request, now)
    asked = {rule.of for rule in request.rules if isinstance(rule, Forecast)}
    watery = _watery(now)
    for of in FORECASTS:
        if of in asked or (of in UNASKED and watery):

            def foretell_it(amounts: Amounts, of: ForecastOf = of) -> Found:
                return foretell(of, amounts, request.ph_window, request.substances, request.labels)

            yield Model(NAMES.get(of, of.replace("_", " ")), UNITS[of], 3, ERRS[of], foretell_it, of in asked)


def _bodies(request: Request, now: Amounts) -> Iterable[Model]:
    """Thickness at each shear that a rule speaks of, else at 1/s where something gives body to water."""
    asked = sorted({rule.shear for rule in request.rules if isinstance(rule, Thickness)})
    for shear in asked or ([Fraction(1)] if gives_body(now) else []):

        def body(amounts: Amounts, shear: Fraction = shear) -> Found:
            return thickness_of(amounts, shear, request.ph_window, request.substances)

        yield Model(_body_name(shear), THICK, 2, BODY_ERRS, body, bool(asked))


def gives_body(amounts: Amounts) -> bool:
    """Whether a gum or grains stand in water: only then is a thickness foretold unasked."""
    return _watery(amounts) and any(one.group in GUMS | GRAINS for one in amounts.present)


def _liquids(request: Request, now: Amounts) -> Iterable[Model]:
    """What the powders leave of the liquid, where a rule speaks of it or powders are there."""
    rules = [rule for rule in request.rules if isinstance(rule, FreeLiquid)]
    oily = rules[0].oily if rules else not _watery(now)
    if rules or any(one.group in GRAINS for one in now.present):
        yield Model("free liquid", "%", 2, LIQUID_ERRS, lambda amounts: left_of(amounts, oily), bool(rules))


def _body_name(shear: Fraction) -> str:
    return f"thickness at {number(shear)}/s"


def _name(of: ForecastOf) -> str:
    return NAMES.get(of, of.replace("_", " "))


def errs_of(measure: str) -> str:
    """`about 15 %` for "free liquid, predicted": what its sum errs by beside the spread of the data."""
    name = measure.removesuffix(PREDICTED)
    if FREE in name:
        band = preservation.MODEL.band
        return f"−{number(100 * band.down)} to +{number(100 * band.up)} %"
    if name.startswith("thickness at "):
        told = BODY_ERRS
    elif name == "free liquid":
        told = LIQUID_ERRS
    else:
        told = next((errs for of, errs in ERRS.items() if _name(of) == name), "")
    _, by, much = told.partition(" by ")
    _, where, when = told.partition(" where ")
    return much if by else f"{where.strip()} {when}".strip()


def _watery(amounts: Amounts) -> bool:
    return any(one.group == "water" for one in amounts.present)


def _worth_telling(model: Model, will: Thick | Left | Told) -> bool:
    """Nothing dissolved, no powder, water as thin as water: such a line would say nothing."""
    if model.unit == THICK:
        return will.value >= LEAST_BODY
    most = will.value if will.high is None else max(will.value, will.high)
    return model.errs == LIQUID_ERRS or round(most, model.places) > 0
