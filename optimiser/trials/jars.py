"""Readings of trials beside what the judge's models foretell of them, with the uncertainty of each."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.densities import density_of
from optimiser.checks.thickness import thickness_of
from optimiser.domain.substance import Substance
from optimiser.domain.trials import Entry, Trial
from optimiser.science.acidity import Mixture, mix, solve_mixture, told
from optimiser.science.activity import DAVIES
from optimiser.science.charge import ChargeProfile, Line, Unknown
from optimiser.science.formula import POWDERS, profile_for
from optimiser.trials.causes import CONFIDENCE, SHARES, Cause
from optimiser.trials.pots import Pot

Values = Mapping[Cause, float]
LEAST_GAP = 0.01
METER, METER_IN_PASTE = 0.03, 0.1
"""Standard error of a pH meter in a clear water phase, and in one with powder (common practice)."""
DIAL, LAW = 0.1, math.log(1.25)
"""Of a thickness as a part of it: one dial reading (common practice), and the laws once the strengths are
known (within a quarter: judgement)."""
CUP, AIR, AIR_LEFT = 0.005, 0.0255, 0.97
"""Of a density as a part of it: a weighed cup (common practice); air and mixing, -8 to +2 %, about their
middle."""
OVEN, SUM = 0.3, 0.3
"""Of solids, in %: one drying (common practice), and what else leaves or stays."""
MEASURES: Mapping[str, str] = {
    "ph": "ph", "ph-before": "ph", "thickness": "thickness", "density": "density",
    "solids": "solids", "loss-on-drying": "loss on drying", "water": "water",
}  # fmt: skip
UNITS = {
    "ph": "pH", "thickness": "Pa.s", "density": "g/ml", "solids": "%", "loss on drying": "%", "water": "%",
    "hlb": "HLB",
}  # fmt: skip
BY_FACTOR = frozenset({"thickness", "density"})
SUMMED = {"solids": "solids", "loss on drying": "solids", "water": "water_content"}


@dataclass(frozen=True, slots=True)
class Jar:
    """One measure of one trial: `read` is the mean of its readings, `error` one standard error of the reading
    and the model together, as a part of it for a thickness or a density. `foretell` gives the measure."""

    trial: str
    measure: str
    read: float
    error: float
    causes: tuple[Cause, ...]
    foretell: Callable[[Values], float]
    asked: str = ""
    also: tuple[str, ...] = ()

    @property
    def trials(self) -> tuple[str, ...]:
        """All trials it speaks of: a series has several."""
        return (self.trial, *self.also)

    @property
    def unit(self) -> str:
        return UNITS[self.measure]

    def off(self, values: Values) -> float:
        """Foretold less read, in standard errors."""
        return (self.scaled(self.foretell(values)) - self.scaled(self.read)) / self.error

    def scaled(self, value: float) -> float:
        return math.log(max(value, 1e-12)) if self.measure in BY_FACTOR else value

    def back(self, at: float) -> float:
        return math.exp(at) if self.measure in BY_FACTOR else at


def jars_of(trial: Trial, pot: Pot, substances: Mapping[str, Substance]) -> tuple[list[Jar], list[str]]:
    """The readings that a model foretells, and why others are left out."""
    jars: list[Jar] = []
    out: list[str] = []
    groups: dict[tuple[str, Fraction | None], list[Entry]] = {}
    for one in trial.counting:
        if one.what == "read" and one.measure.casefold() in MEASURES and one.value is not None:
            rate = one.rate if MEASURES[one.measure.casefold()] == "thickness" else None
            groups.setdefault((one.measure.casefold(), rate), []).append(one)
    for (measure, rate), entries in groups.items():
        made = _jar(trial, pot, substances, measure, rate, entries)
        if isinstance(made, str):
            out.append(f"{measure} of {trial.id}: {made}")
        else:
            jars.append(made)
    return jars, out


def _jar(
    trial: Trial, pot: Pot, substances: Mapping[str, Substance], measure: str, rate: Fraction | None,
    entries: list[Entry],
) -> Jar | str:  # fmt: skip
    values = [_in_unit(one) for one in entries]
    kind = MEASURES[measure]
    if kind in BY_FACTOR and min(values) <= 0:
        return "it has to be above 0"
    read = sum(values) / len(values)
    spread = max((float(one.spread) for one in entries if one.spread is not None), default=None)
    if kind in BY_FACTOR and spread is not None:
        spread = spread * (values[0] / float(entries[0].value or 1)) / read
    said = (spread, len(values))
    match kind:
        case "ph":
            return _ph(trial, pot, substances, measure, read, said)
        case "thickness":
            return _thickness(trial, pot, substances, rate, read, said)
        case "density":
            return _density(trial, pot, read, said)
        case _:
            return _summed(trial, pot, kind, read, said)


def _in_unit(one: Entry) -> float:
    value = float(one.value or 0)
    return value / 1000 if one.unit.casefold() in ("mpa.s", "mpas", "cp", "cps") else value


Said = tuple[float | None, int]


def _error(said: Said, usual: float, model: float) -> float:
    """The reading's error shrinks with more readings of the same jar, the model's does not."""
    spread, count = said
    return math.hypot((usual if spread is None else spread) / math.sqrt(count), model)


def _ph(
    trial: Trial, pot: Pot, substances: Mapping[str, Substance], measure: str, read: float, said: Said
) -> Jar | str:
    dosed = frozenset(line.ingredient for line in trial.lines if line.dosed)
    weighed = {one.ingredient for one in trial.counting if one.what == "weighed"}
    if measure == "ph-before":
        pot = pot.without(dosed)
    elif dosed - weighed:
        return f"how much {min(dosed - weighed)} went in was not written down"
    profiles = {name: profile_for(pot.ingredients[name], substances) for name in pot.grams}
    middle = _middled(pot, profiles)
    if isinstance(middle, str):
        return middle
    mixture, buffered = middle
    found = told(mixture, solve_mixture(mixture, "middle", DAVIES))
    if not found.valid:
        return "; ".join(found.why) or "outside what can be predicted"
    paste = any(pot.ingredients[name].group in POWDERS for name in pot.grams)
    low, high = (solve_mixture(mixture, end, DAVIES)[0] for end in ("low", "high"))
    gap = (high - low) / 2 / CONFIDENCE
    causes = tuple(sorted(Cause(*pot.stuff[name], what) for name in buffered for what in OF_POWDER))
    shares = (SHARES,) if gap > LEAST_GAP else ()

    def foretell(values: Values) -> float:
        powders = tuple((share, _buffer(pot, name, line, values)) for name, (share, line) in buffered.items())
        own = solve_mixture(replace(mixture, powders=powders), "middle", DAVIES)[0]
        return own + gap * values.get(SHARES, 0.0)

    error = _error(said, METER_IN_PASTE if paste else METER, found.model_error)
    return Jar(trial.id, "ph", read, error, (*causes, *shares), foretell, measure)


OF_POWDER = ("buffer_slope", "powder_ph")
Buffered = dict[str, tuple[float, Line]]


def _middled(pot: Pot, profiles: Mapping[str, ChargeProfile | Unknown]) -> tuple[Mixture, Buffered] | str:
    """The mixture with its powders at their middle; and (grams in one of water, line) of each."""
    mixture = mix(pot.grams, profiles)
    if isinstance(mixture, tuple):
        return "; ".join(mixture)
    buffered: Buffered = {}
    for name, profile in sorted(profiles.items()):
        if isinstance(profile, ChargeProfile) and profile.buffers:
            own = profile.buffers[0]
            line = Line((float(own.slope[1]),) * 3, (float(own.own_ph[1]),) * 3)
            buffered[name] = float(pot.grams[name]) / mixture.water, line
    return replace(mixture, powders=tuple(buffered.values())), buffered


def _buffer(pot: Pot, name: str, line: Line, values: Values) -> Line:
    slope = values.get(Cause(*pot.stuff[name], "buffer_slope"), line.slope[1])
    own = values.get(Cause(*pot.stuff[name], "powder_ph"), line.own_ph[1])
    return Line((slope,) * 3, (own,) * 3)


OF_THICKNESS = ("viscosity_1pct", "viscosity_power", "water_held", "packing_max")


def _thickness(
    trial: Trial,
    pot: Pot,
    substances: Mapping[str, Substance],
    rate: Fraction | None,
    read: float,
    said: Said,
) -> Jar | str:
    if rate is None:
        return "no shear (1/s) was written down, and a thickness without it tells no strength"
    if any(one.kind == "clay-swelling" for one in pot.ingredients.values()):
        return "swelling clay gives a body that no law here describes"
    shear = rate
    acid = trial.readings("ph")
    window = (acid[-1].value, acid[-1].value) if acid and acid[-1].value is not None else None
    window = None if window is None else (window[0] or Fraction(7), window[1] or Fraction(7))

    def at(values: Values) -> float | str:
        found = thickness_of(pot.amounts(pot.with_values(values)), shear, window, substances)
        return found.reason if isinstance(found, Unknown) else float(found.value)

    first = at({})
    if isinstance(first, str):
        return first

    def foretell(values: Values) -> float:
        found = at(values)
        return first if isinstance(found, str) else found

    error = _error(said, DIAL, LAW)
    return Jar(
        trial.id,
        "thickness",
        read,
        error,
        _causes(pot, OF_THICKNESS),
        foretell,
        f"thickness at {float(rate):g}/s",
    )


def _density(trial: Trial, pot: Pot, read: float, said: Said) -> Jar | str:
    if density_of(pot.amounts()) is None:
        return "a line has no density"
    alone = len(pot.grams) == 1
    left, model = (1.0, 0.0) if alone else (AIR_LEFT, AIR)

    def foretell(values: Values) -> float:
        lines = pot.with_values(values)
        whole = sum(pot.grams.values(), Fraction(0))
        room = sum(
            float(grams) / float(figure.value)
            for name, grams in pot.grams.items()
            if (figure := lines[name].figure("density")) is not None
        )
        return left * float(whole) / room

    error = _error(said, CUP, model)
    return Jar(trial.id, "density", read, error, _causes(pot, ("density",)), foretell, "density")


def _summed(trial: Trial, pot: Pot, kind: str, read: float, said: Said) -> Jar | str:
    what = SUMMED[kind]
    lacking = [one.name for one in pot.ingredients.values() if one.figure(what) is None]
    if lacking:
        return f"{what.replace('_', ' ')} of {lacking[0]} is not known"

    def foretell(values: Values) -> float:
        lines = pot.with_values(values)
        whole = sum(pot.grams.values(), Fraction(0))
        own = sum(
            float(grams / whole) * float(figure.value)
            for name, grams in pot.grams.items()
            if (figure := lines[name].figure(what)) is not None
        )
        return 100 - own if kind == "loss on drying" else own

    model = 0.0 if len(pot.grams) == 1 else SUM
    return Jar(trial.id, kind, read, _error(said, OVEN, model), _causes(pot, (what,)), foretell, kind)


def _causes(pot: Pot, properties: Iterable[str]) -> tuple[Cause, ...]:
    wanted = tuple(properties)
    return tuple(
        sorted(
            Cause(*pot.stuff[name], what)
            for name in pot.grams
            for what in wanted
            if pot.ingredients[name].figure(what) is not None
        )
    )
