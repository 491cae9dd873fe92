"""The judge on measures that the science foretells: each by its full model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from optimiser.checks.allergens import allergens
from optimiser.checks.amounts import Amounts
from optimiser.checks.densities import density_ends
from optimiser.checks.dissolving import undissolved
from optimiser.checks.emulsions import NONIONIC, Emulsion, emulsion_of
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import LabelLimit, Request
from optimiser.domain.rules import Forecast, ForecastOf
from optimiser.domain.substance import Substance
from optimiser.science.acidity_rows import charge_per_gram
from optimiser.science.charge import ChargeProfile, Unknown
from optimiser.science.constants import OILS, End, reading, volumes
from optimiser.science.formula import profile_for
from optimiser.science.solutes import dissolved_in, known_solutes, water_in
from optimiser.science.suspension import volume_fraction
from optimiser.science.water_activity import Solute, freezing_point, water_activity
from optimiser.units.numbers import show_number

ZERO, ONE, HUNDRED = Fraction(0), Fraction(1), Fraction(100)
STEP = Fraction(1, 1000)
"""Width in pH over which the judge takes the buffer as a difference of charge."""
BUFFER_STRENGTH = Fraction(15, 100)
HAIR = Fraction(1, 10**6)
"""By so much a foretold value may miss its limit: both ways of reckoning round there."""
LEAST_WATER = Fraction(5)
"""Grams of water in 100 g below which there is no water phase to speak of."""
HARDLY_ANY = "there is hardly any water in it"
MUCH_DISSOLVED = ("alcohol",)
NOT_COUNTED = "what it dissolves to is not in the data, and it is used by the spoonful"
Window = tuple[Fraction, Fraction]
UNITS: Mapping[ForecastOf, str] = {
    "water_activity": "",
    "frost_proof": "°C",
    "powder_volume": "%",
    "buffer": "mmol/kg per pH",
    "hlb": "HLB",
    "undissolved": "%",
    "density": "g/ml",
    "allergens": "",
}
FIGURES: Mapping[ForecastOf, tuple[str, ...]] = {
    "water_activity": ("norrish_k", "water_content"),
    "frost_proof": ("water_content",),
    "powder_volume": ("density", "water_held"),
    "buffer": ("buffer_slope", "powder_ph"),
    "hlb": ("hlb", "hlb_needed"),
    "undissolved": ("solubility", "acid_solubility", "oil_partition"),
    "density": ("density",),
    "allergens": (),
}
"""Properties that each rests on."""
ERRS: Mapping[ForecastOf, str] = {
    "water_activity": "the sum errs by about 0.005, and what is not counted lowers it",
    "frost_proof": "half a degree too little at 20 % of a polyol",
    "powder_volume": "swelling clay takes up more",
    "buffer": "clays answer slowly",
    "hlb": "for emulsifiers without charge; that demands add up was never proven",
    "undissolved": "by about a third; glycols and micelles hold more",
    "density": "stirred-in air makes it less, volumes that shrink a little more",
    "allergens": "counted at the highest content of every line",
}


@dataclass(frozen=True, slots=True)
class Told:
    """A foretold value, and where the spread of the data takes it."""

    value: Fraction
    low: Fraction
    high: Fraction


def foretell(
    of: ForecastOf,
    amounts: Amounts,
    window: Window | None,
    substances: Mapping[str, Substance],
    labels: Sequence[LabelLimit] = (),
) -> Told | Unknown:
    """The measure of a formula, or what stands in the way; `labels`: thresholds of listed allergens."""
    lacking = next((f"{one.name}: {why}" for one in amounts.present if (why := gap(of, one, substances))), "")
    if lacking:
        return Unknown(lacking)
    match of:
        case "water_activity":
            return _water_activity(amounts, substances)
        case "frost_proof":
            return _frost_proof(amounts, substances)
        case "powder_volume":
            return _powder_volume(amounts)
        case "buffer":
            return _buffer(amounts, window, substances)
        case "hlb":
            return _hlb(amounts)
        case "undissolved":
            found = undissolved(amounts, window, substances)
            out, worst = (sum((getattr(one, end) for one in found), ZERO) for end in ("out", "worst"))
            return Told(out, ZERO, worst)
        case "density":
            return _density(amounts)
        case "allergens":
            return _allergens(amounts, labels)
        case _:
            assert_never(of)


def gap(of: ForecastOf, one: Ingredient, substances: Mapping[str, Substance]) -> str:
    """What of an ingredient is not known that the measure needs; empty where nothing is."""
    match of:
        case "water_activity" | "frost_proof":
            water = water_in(one)
            if isinstance(water, Unknown):
                return water.reason
            counted = dissolved_in(one, known_solutes([one], substances))
            return "" if counted or one.group not in MUCH_DISSOLVED else NOT_COUNTED
        case "powder_volume":
            return "" if volumes(one) is not None else "its density, or the water it holds, is not known"
        case "buffer":
            profile = profile_for(one, substances)
            return profile.reason if isinstance(profile, Unknown) else ""
        case "hlb":
            return _hlb_gap(one)
        case "undissolved":
            return ""
        case "density":
            return "" if reading(one, "density") is not None else "its density is not known"
        case "allergens":
            return "" if one.composition is not None else "its make-up is not known"
        case _:
            assert_never(of)


def judge_forecast(rule: Forecast, amounts: Amounts, request: Request) -> Verdict:
    """At the middle of the data or at its worst ends; by reading where it is not foretold."""
    unit = UNITS[rule.of]
    told = foretell(rule.of, amounts, request.ph_window, request.substances, request.labels)
    if not rule.predicted or isinstance(told, Unknown):
        why = f"; not predicted: {told.reason}" if isinstance(told, Unknown) else ""
        met = not rule.predicted
        return Verdict(rule, met, None, rule.low, rule.high, unit, None, f"held by reading{why}")
    low, high = (told.low, told.high) if rule.head.at_worst else (told.value, told.value)
    margins = [] if rule.low is None else [low - rule.low]
    margins += [] if rule.high is None else [rule.high - high]
    margin = min(margins) if margins else None
    met = margin is None or margin >= -HAIR * max(ONE, abs(told.value))
    note = f"predicted, {_spread(told)}{ERRS[rule.of]}"
    return Verdict(rule, met, told.value, rule.low, rule.high, unit, margin, note)


def _spread(told: Told) -> str:
    if told.low == told.high:
        return ""
    return f"by the data {show_number(told.low, 3)} to {show_number(told.high, 3)}; "


def _held(amounts: Amounts, solutes: Mapping[str, Solute]) -> tuple[list[tuple[Solute, Fraction]], Fraction]:
    """Grams of solutes, and of water, in 100 g."""
    found: list[tuple[Solute, Fraction]] = []
    water = ZERO
    for slot, share in amounts.lines:
        one = amounts.ingredients[slot.ingredient]
        own = water_in(one)
        water += share * own if isinstance(own, Fraction) else ZERO
        found += [(solute, share * part) for solute, part in dissolved_in(one, solutes)]
    return found, water


def _water_activity(amounts: Amounts, substances: Mapping[str, Substance]) -> Told | Unknown:
    found = []
    for end in ("value", "low", "high"):
        solutes = known_solutes(amounts.ingredients.values(), substances, _END[end])
        held, water = _held(amounts, solutes)
        activity = water_activity(held, water) if water >= LEAST_WATER else None
        if activity is None:
            return Unknown(HARDLY_ANY)
        found.append(activity)
    return Told(found[0], min(found), max(found))


_END: Mapping[str, End] = {"value": "value", "low": "low", "high": "high"}


def _frost_proof(amounts: Amounts, substances: Mapping[str, Substance]) -> Told | Unknown:
    held, water = _held(amounts, known_solutes(amounts.ingredients.values(), substances))
    if water < LEAST_WATER:
        return Unknown(HARDLY_ANY)
    value = -freezing_point(held, water)
    return Told(value, value, value)


def _powder_volume(amounts: Amounts) -> Told:
    def at(end: End) -> Fraction:
        solid = amounts.sum(lambda one: (volumes(one, end) or (ZERO, ZERO))[0])
        whole = amounts.sum(lambda one: (volumes(one, end) or (ZERO, ZERO))[1])
        return volume_fraction(solid, whole) * HUNDRED if whole else ZERO

    return Told(at("value"), at("low"), at("high"))


def _buffer(amounts: Amounts, window: Window | None, substances: Mapping[str, Substance]) -> Told | Unknown:
    """The lesser of both ends of the window: charge lost over a thousandth of a pH."""
    if window is None:
        return Unknown("no pH window is asked for")
    if _held(amounts, {})[1] < LEAST_WATER:
        return Unknown(HARDLY_ANY)
    profiles = {one.id: profile_for(one, substances) for one in amounts.present}

    def at(ph: Fraction) -> Fraction:
        def lost(one: Ingredient) -> Fraction:
            profile = profiles[one.id]
            if not isinstance(profile, ChargeProfile):
                return ZERO
            before, after = (
                charge_per_gram(profile, ph + half, BUFFER_STRENGTH) for half in (-STEP / 2, STEP / 2)
            )
            return (before - after) / STEP

        return amounts.sum(lost) * 10

    value = min(at(window[0]), at(window[1]))
    return Told(value, value, value)


def _hlb(amounts: Amounts) -> Told | Unknown:
    made = emulsion_of(amounts)
    if not isinstance(made, Emulsion) or made.demand is None or made.blend is None:
        why = made.untold[0] if isinstance(made, Emulsion) and made.untold else "there is no emulsion"
        return Unknown(why.rstrip("."))
    apart = abs(made.blend.value - made.demand.value)
    most = max(abs(made.blend.high - made.demand.low), abs(made.blend.low - made.demand.high))
    return Told(apart, ZERO, max(apart, most))


def _density(amounts: Amounts) -> Told | Unknown:
    """Without air in the middle; the low end has what may be stirred in."""
    ends = density_ends(amounts)
    return Unknown("nothing is there") if ends is None else Told(*ends)


def _allergens(amounts: Amounts, labels: Sequence[LabelLimit]) -> Told | Unknown:
    if not labels:
        return Unknown("no list of allergens for the label is known of this place")
    count = Fraction(sum(one.on_label for one in allergens(labels, amounts)))
    return Told(count, count, count)


def _hlb_gap(one: Ingredient) -> str:
    if one.group == "emulsifier":
        if one.kind != NONIONIC:
            return "HLB says little of an emulsifier with charge"
        return "" if reading(one, "hlb") is not None else "its HLB is not known"
    if one.group in OILS and reading(one, "hlb_needed") is None:
        return "the HLB it asks for is not known"
    return ""
