"""Series of creams that differ in their emulsifier blend: at which HLB the least comes apart.

What an oil phase asks for is the HLB of the blend that holds it best (Griffin's way, see `science.emulsion`).
It is counted on the scale of the emulsifiers of the series, as the table has them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import assert_never

from optimiser.checks.emulsions import NONIONIC, parts_of
from optimiser.domain.trials import Entry, Trial
from optimiser.science.emulsion import MODEL, mean, two_emulsifiers
from optimiser.statistics.least import FEWEST, Foot, NoFoot, Why, foot
from optimiser.trials.causes import CONFIDENCE, Cause
from optimiser.trials.jars import Jar, Values
from optimiser.trials.pots import Pot, Stuff
from optimiser.units.numbers import show_number

WHAT = "hlb_needed"
LEAST_SPAN = 1.0
"""HLB that blends have to differ by at least: else nobody meant a series."""
ALIKE, NEAR_AGE = 0.1, 0.1
"""Part by which the emulsifiers to the oils, points by which an oil of the phase, and part by which the age
may differ within a series."""
MOST_SPOTLESS = 3


@dataclass(frozen=True, slots=True)
class Scored:
    """A measure of how far a jar has come apart: `sign` makes it least where it holds best, at `best`;
    `floor` is the least scatter that is believed of it."""

    sign: int
    best: float
    floor: float


SCORED: Mapping[str, Scored] = {
    "separation": Scored(1, 0, 0.5),
    "creaming": Scored(1, 0, 0.3),
    "stability": Scored(-1, 10, 0.3),
}
"""A height is read to half a per cent, a score to a third of a step (common practice, and rounding)."""


@dataclass(frozen=True, slots=True)
class Cream:
    """One emulsion as weighed: parts of its oil phase, HLB and parts of its emulsifiers, which are `ratio` of
    the oils."""

    trial: Trial
    oils: Mapping[Stuff, Fraction]
    ratio: float
    emulsifiers: Mapping[str, tuple[str, Fraction]]
    hlb: float


@dataclass(frozen=True, slots=True)
class Moment:
    """How and when jars were looked at; `cycles` of freezing and thawing."""

    measure: str
    stored_c: Fraction | None
    light: str
    cycles: int | None
    age: int

    @property
    def words(self) -> str:
        age = f"{self.measure} after {self.age} {'day' if self.age == 1 else 'days'}"
        stood = "" if self.stored_c is None else f" at {show_number(self.stored_c, 1)} °C"
        frost = "" if self.cycles is None else f" and {self.cycles} times frozen"
        return f"{age}{stood}{f', {self.light}' if self.light else ''}{frost}"


@dataclass(frozen=True, slots=True)
class Series:
    """Creams alike but for their blend, read at one moment; `settled_by` is the trial that would tell, where
    none is told."""

    trials: tuple[str, ...]
    moment: Moment
    places: tuple[float, ...]
    values: tuple[float, ...]
    oils: Mapping[Stuff, Fraction]
    foot: Foot | NoFoot
    settled_by: str = ""

    @property
    def called(self) -> str:
        return " … ".join(dict.fromkeys((self.trials[0], self.trials[-1])))


def cream_of(trial: Trial, pot: Pot) -> Cream | None:
    """None where it is no emulsion held by emulsifiers without charge whose HLB is known."""
    parts = parts_of(pot.amounts())
    if parts is None or any(one.kind != NONIONIC or one.figure("hlb") is None for _, one in parts[1]):
        return None
    oils, emulsifiers = parts
    known = [(share, figure.value) for share, one in emulsifiers if (figure := one.figure("hlb"))]
    blend, phase = mean(known), sum((share for share, _ in oils), Fraction(0))
    held = sum((share for share, _ in emulsifiers), Fraction(0))
    if blend is None or not phase:
        return None
    names = {
        pot.stuff[one.id][0]: (one.name, figure.value)
        for _, one in emulsifiers
        if (figure := one.figure("hlb"))
    }
    return Cream(
        trial,
        {pot.stuff[one.id]: share / phase for share, one in oils},
        float(held / phase),
        names,
        float(blend),
    )


def series_of(creams: Iterable[Cream]) -> tuple[list[Series], list[str]]:
    """Every series among the creams, and why others that were read are left out of it."""
    groups: dict[tuple[str, ...], list[Cream]] = {}
    for one in creams:
        groups.setdefault(tuple(sorted({name for name, _ in one.oils})), []).append(one)
    found, out = [], []
    for _, group in sorted(groups.items()):
        read = [one for one in group if any(_entries(one.trial))]
        if not read or max(o.hlb for o in read) - min(o.hlb for o in read) < LEAST_SPAN:
            continue
        alike, apart = _alike(read)
        out += apart
        made, silent = _series(alike)
        out += silent
        found.append(made)
    return found, out


def _entries(trial: Trial) -> Iterator[Entry]:
    for one in trial.counting:
        if one.what in ("read", "felt", "visit") and one.measure in SCORED and one.value is not None:
            yield one


def _alike(creams: Sequence[Cream]) -> tuple[list[Cream], list[str]]:
    """Those whose oil phase and share of emulsifiers are as in the middle of them."""
    ratio = median(one.ratio for one in creams)
    phase = {
        key: median(float(o.oils.get(key, 0)) for o in creams) for key in {k for o in creams for k in o.oils}
    }
    kept, out = [], []
    for one in creams:
        if abs(one.ratio - ratio) > ALIKE * ratio:
            per = f"{one.ratio:.2g} of the oils, {ratio:.2g} in the others of the series"
            out.append(f"{one.trial.id}: its emulsifiers are {per}")
        elif any(abs(float(one.oils.get(key, 0)) - own) > ALIKE / 2 for key, own in phase.items()):
            out.append(f"{one.trial.id}: its oils, or their lots, are not as in the others of the series")
        else:
            kept.append(one)
    return kept, out


def _series(creams: Sequence[Cream]) -> tuple[Series, list[str]]:
    moment, values = _moment(creams)
    own = sorted((one for one in creams if one.trial.id in values), key=lambda one: (one.hlb, one.trial.id))
    scored = SCORED[moment.measure]
    read = [values[one.trial.id] for one in own]
    answer = foot([one.hlb for one in own], [scored.sign * value for value in read], scored.floor)
    spotless = [one.trial.id for one, value in zip(own, read, strict=True) if value == scored.best]
    if len(spotless) >= MOST_SPOTLESS:
        answer = NoFoot("flat")
        settled = f"to look at {', '.join(spotless)} again later, or stored warmer: nothing shows in them yet"
    else:
        settled = "" if isinstance(answer, Foot) else _settling(answer, own)
    found = Series(
        tuple(one.trial.id for one in own),
        moment,
        tuple(one.hlb for one in own),
        tuple(read),
        own[0].oils,
        answer,
        settled,
    )
    silent = [f"{one.trial.id}: no {moment.words}" for one in creams if one.trial.id not in values]
    return found, silent


def _moment(creams: Sequence[Cream]) -> tuple[Moment, dict[str, float]]:
    """When and how most of them were looked at, the latest of these; and the mean of each one's readings."""
    found: dict[Moment, dict[str, float]] = {}
    every = [(one.trial, entry, _age(one.trial, entry)) for one in creams for entry in _entries(one.trial)]
    for _, entry, age in every:
        moment = Moment(entry.measure, entry.stored_c, entry.light, entry.cycles, age)
        if moment not in found:
            found[moment] = _read_at(moment, every)
    names = list(SCORED)

    def weight(moment: Moment) -> tuple[int, int, int, Fraction]:
        return len(found[moment]), -names.index(moment.measure), moment.age, moment.stored_c or Fraction(0)

    best = max(found, key=weight)
    return best, found[best]


def _age(trial: Trial, entry: Entry) -> int:
    return (entry.day - trial.made_on).days


def _read_at(moment: Moment, every: Sequence[tuple[Trial, Entry, int]]) -> dict[str, float]:
    values: dict[str, list[float]] = {}
    near = max(1.0 if moment.age else 0.0, NEAR_AGE * moment.age)
    for trial, entry, age in every:
        so = (entry.measure, entry.stored_c, entry.light, entry.cycles)
        alike = so == (moment.measure, moment.stored_c, moment.light, moment.cycles)
        if alike and abs(age - moment.age) <= near and entry.value is not None:
            values.setdefault(trial.id, []).append(float(entry.value))
    return {name: math.fsum(own) / len(own) for name, own in values.items()}


def _settling(answer: NoFoot, creams: Sequence[Cream]) -> str:
    """The trial that would tell."""
    places = [one.hlb for one in creams]
    low, high = min(places), max(places)
    step = max((high - low) / max(len(set(places)) - 1, 1), 0.5)
    at = (low + high) / 2 if answer.at is None else min(max(answer.at, low), high)
    further, closer = (f"{_blend(at - by, creams)} and {_blend(at + by, creams)}" for by in (step, step / 2))
    match answer.why:
        case "few":
            return f"{FEWEST} jars or more, two of them at {further}"
        case "flat":
            both = f"{_blend(low - step, creams)} and {_blend(high + step, creams)}"
            return f"a jar further out on each side, at {both}, or a later look at all of them"
        case "rises" | "open low":
            return f"a jar at {_blend(low - step, creams)}"
        case "falls" | "open high":
            return f"a jar at {_blend(high + step, creams)}"
        case "upside down":
            return "the same jars once more: oils are held best by one blend, and worse on both sides of it"
        case "lopsided":
            return f"jars closer to the best, at {closer}"
        case _:
            assert_never(answer.why)


def _blend(hlb: float, creams: Sequence[Cream]) -> str:
    """`HLB 13.4 (86 % of the emulsifiers Polysorbate 80, 14 % Sorbitan oleate)`, where two can make it."""
    told = f"HLB {hlb:.1f}"
    both = {key: value for one in creams for key, value in one.emulsifiers.items()}
    ends = sorted(((own, name) for name, own in both.values()))
    if len(ends) != 2 or ends[0][0] == ends[1][0]:
        return told
    (low, weak), (high, strong) = ends
    part = float(two_emulsifiers(low, high, Fraction(round(hlb, 6))))
    if not 0 <= part <= 1:
        return f"{told} (past what {weak} and {strong} make: it takes another emulsifier)"
    return f"{told} ({100 * part:.0f} % of the emulsifiers {strong}, {100 * (1 - part):.0f} % {weak})"


def jar_of(series: Series, own: Foot, numbers: Mapping[Cause, float]) -> Jar:
    """The place of the least as a reading of what the oils ask for; `numbers` for those that do not spread.

    That demands of several oils add up is given the model's own band.
    """
    shares = {Cause(*stuff, WHAT): float(part) for stuff, part in series.oils.items()}
    half = max(own.high - own.at, own.at - own.low)
    model = float(MODEL.band.up) if len(shares) > 1 else 0.0

    def foretell(values: Values) -> float:
        return math.fsum(part * values.get(one, numbers[one]) for one, part in shares.items())

    return Jar(
        series.trials[0],
        "hlb",
        own.at,
        math.hypot(half, model) / CONFIDENCE,
        tuple(sorted(shares)),
        foretell,
        f"HLB of least separation, {series.called}",
        series.trials[1:],
    )


REASONS: Mapping[Why, str] = {
    "few": f"it takes {FEWEST} jars at three blends or more",
    "flat": "the jars do not differ by more than they scatter",
    "falls": "it still gets better at the highest HLB of the series",
    "rises": "it still gets better at the lowest HLB of the series",
    "open low": "the best may lie below the lowest HLB of the series",
    "open high": "the best may lie above the highest HLB of the series",
    "upside down": "the middle of the series holds worst",
    "lopsided": "it gets worse in another way on one side than on the other",
}


def series_words(series: Series, names: Mapping[str, str]) -> str:
    """What a series says, or why it says nothing and what would."""
    of = ", ".join(names.get(name, name) for name, _ in sorted(series.oils))
    head = f"{series.called} ({of}), {series.moment.words}"
    if isinstance(series.foot, Foot):
        at, low, high = (f"{value:.1f}" for value in (series.foot.at, series.foot.low, series.foot.high))
        return f"{head}: best at HLB {at} ({low} to {high})."
    return f"{head}: refused, {REASONS[series.foot.why]}. What would settle it: {series.settled_by}."
