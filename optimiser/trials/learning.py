"""What trials teach of the numbers of the table: measured against foretold, each with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from optimiser.domain.ingredient import Figure
from optimiser.domain.substance import Substance
from optimiser.domain.trials import Trial
from optimiser.domain.worktable import Worktable
from optimiser.statistics.calibrate import Calibration, calibrate
from optimiser.statistics.least import Foot
from optimiser.trials.causes import CONFIDENCE, SHARES, UNKNOWN, WAYS, Cause, Prior, prior_of
from optimiser.trials.jars import Jar, Values, jars_of
from optimiser.trials.pots import pot_of
from optimiser.trials.series import WHAT, Cream, Series, cream_of, jar_of, series_of, series_words

State = Literal["learned", "mixed up", "left"]
Ends = tuple[Fraction, Fraction, Fraction]
FAR = 3.0
"""Standard errors beyond which a reading does not fit."""
SPEAKS = 0.05
"""Least change in a reading, in its standard errors, by one of a number: below it says nothing of it."""


@dataclass(frozen=True, slots=True)
class Number:
    """One number of an ingredient's lot: (value, low, high) before and after, 95 % intervals.

    `mixed up`: the readings cannot tell it from `partners`; `left` is what they tell too little of. Of both
    `settled_by` is the reading that would tell it. `trials` are those that speak of it, `part` what is left
    of its variance.
    """

    cause: Cause
    name: str
    told: str
    unit: str
    before: Ends
    after: Ends
    state: State
    trials: tuple[str, ...]
    part: float
    partners: tuple[str, ...] = ()
    settled_by: str = ""
    known: bool = True
    """Whether the table has a number; where not, `before` is all that it can be."""


@dataclass(frozen=True, slots=True)
class Foretold:
    """One measure of one trial: as read, by the table alone, and by what the other trials teach; 95 %.

    `by` are the other trials that speak of what it rests on.
    """

    trial: str
    measure: str
    unit: str
    read: float
    table: tuple[float, float, float]
    others: tuple[float, float, float]
    by: tuple[str, ...]

    @property
    def inside(self) -> bool:
        return self.others[1] <= self.read <= self.others[2]


@dataclass(frozen=True, slots=True)
class Lesson:
    """`out` says which readings were left out and why, `unfit` which do not fit in any way. `told` has a
    sentence for each of `series`."""

    numbers: tuple[Number, ...]
    foretold: tuple[Foretold, ...]
    out: tuple[str, ...] = ()
    unfit: tuple[str, ...] = ()
    series: tuple[Series, ...] = ()
    told: tuple[str, ...] = ()

    @property
    def learned(self) -> tuple[Number, ...]:
        return tuple(one for one in self.numbers if one.state == "learned")


@dataclass(frozen=True, slots=True)
class _Bench:
    """Jars and the unknowns they speak of, in one order; `known` keeps what a jar foretells at a place."""

    jars: tuple[Jar, ...]
    causes: tuple[Cause, ...]
    priors: Mapping[Cause, Prior]
    known: dict[tuple[object, ...], float] = field(default_factory=dict, compare=False)

    def values(self, at: Sequence[float]) -> Values:
        return {
            one: self.priors[one].value(place) if one in self.priors else place
            for one, place in zip(self.causes, at, strict=True)
        }

    def fit(self, jars: Sequence[Jar]) -> Calibration:
        return calibrate(lambda at: [self._off(jar, at) for jar in jars], len(self.causes))

    def _off(self, jar: Jar, at: Sequence[float]) -> float:
        own = [place for one, place in zip(self.causes, at, strict=True) if one in jar.causes]
        key = (jar.trial, jar.asked, *own)
        if key not in self.known:
            self.known[key] = jar.off(self.values(at))
        return self.known[key]


def learn(
    trials: Sequence[Trial], table: Worktable, substances: Mapping[str, Substance], *, check: bool = True
) -> Lesson:
    """Least squares over all readings of `trials`, with the table's ranges as priors; each left out once.

    What was learned before from other trials is where it starts; what was learned from these is set aside, so
    no reading counts twice.
    """
    ids = frozenset(trial.id for trial in trials)
    jars, figures, creams, out = _gathered(trials, table, substances, start_from(table, ids))
    series, apart = series_of(creams)
    jars += _of_series(series, figures)
    out += apart
    names = {name: one.name for name, one in table.ingredients.items()}
    told = tuple(series_words(one, names) for one in series)
    bench = _bench(jars, figures)
    if not bench.jars:
        return Lesson((), (), tuple(out), series=tuple(series), told=told)
    found = bench.fit(bench.jars)
    numbers = tuple(
        _number(place, bench, found, figures, table)
        for place, cause in enumerate(bench.causes)
        if cause != SHARES
    )
    checked, unfit = _left_out(bench, trials) if check else (), _unfit(bench, found, table)
    return Lesson(numbers, checked, tuple(out), unfit, tuple(series), told)


def _gathered(
    trials: Sequence[Trial],
    table: Worktable,
    substances: Mapping[str, Substance],
    base: Mapping[Cause, Figure],
) -> tuple[list[Jar], dict[Cause, Figure], list[Cream], list[str]]:
    """Jars of all trials, the numbers they start from, those that are creams, and what is left out."""
    jars: list[Jar] = []
    creams: list[Cream] = []
    out: list[str] = []
    figures: dict[Cause, Figure] = {}
    for trial in trials:
        if not trial.was_weighed:
            out.append(f"{trial.id}: nothing of it was weighed")
            continue
        gone = sorted({line.ingredient for line in trial.lines} - set(table.ingredients))
        if gone:
            out.append(f"{trial.id}: {gone[0]} is no longer in the worktable")
            continue
        pot = pot_of(trial, table, base)
        for name, one in pot.ingredients.items():
            figures |= {Cause(*pot.stuff[name], what): figure for what, figure in one.figures.items()}
        made, lacking = jars_of(trial, pot, substances)
        jars += made
        out += lacking
        cream = cream_of(trial, pot)
        creams += [] if cream is None else [cream]
    return jars, figures, creams, out


def _of_series(series: Sequence[Series], figures: dict[Cause, Figure]) -> list[Jar]:
    """A reading for each series that tells one; an oil without a number starts from all it can be."""
    found = []
    for one in series:
        if isinstance(one.foot, Foot):
            causes = [Cause(*stuff, WHAT) for stuff in one.oils]
            numbers = {cause: float(figures.setdefault(cause, UNKNOWN[WHAT]).value) for cause in causes}
            found.append(jar_of(one, one.foot, numbers))
    return found


def _unfit(bench: _Bench, found: Calibration, table: Worktable) -> tuple[str, ...]:
    """Readings and numbers that lie too far off to be believed."""
    unfit = [
        f"{jar.asked} of {jar.trial}, read {jar.read:.4g}: {abs(off):.0f} standard errors from what any "
        "numbers in the table's ranges give; read it again"
        for jar, off in zip(bench.jars, found.residuals, strict=True)
        if abs(off) > FAR
    ]
    unfit += [
        f"{_words(cause, table)}: the readings pull it {abs(at):.0f} standard errors from the middle of its "
        "range; read again, or mend the range"
        for cause, at in zip(bench.causes, found.at, strict=True)
        if abs(at) > FAR
    ]
    if not found.settled:
        unfit.append("the sum did not come to rest: the readings contradict each other")
    return tuple(unfit)


def start_from(table: Worktable, ids: frozenset[str]) -> dict[Cause, Figure]:
    """Numbers to start from that are not those in use: learned of a lot by other trials, or the table's own.

    A lot has its newest row that none of these trials taught; else the table's own number.
    """
    base: dict[Cause, Figure] = {}
    for row in table.learned:
        was = row.was or UNKNOWN.get(row.what)
        if row.counts and was is not None:
            for lot in _lots(table, row.ingredient):
                base.setdefault(Cause(row.ingredient, lot, row.what), was)
    for row in sorted(table.learned, key=lambda one: one.day):
        if not row.trials & ids:
            lots = (row.lot,) if row.lot else _lots(table, row.ingredient)
            base |= {Cause(row.ingredient, lot, row.what): row.figure for lot in lots}
    return base


def _lots(table: Worktable, ingredient: str) -> tuple[str, ...]:
    named = {lot.lot for lot in table.shelf if lot.ingredient == ingredient}
    named |= {row.lot for row in table.learned if row.ingredient == ingredient}
    return ("", *sorted(named - {""}))


def _bench(jars: Sequence[Jar], figures: Mapping[Cause, Figure]) -> _Bench:
    named = sorted({cause for jar in jars for cause in jar.causes if cause != SHARES})
    known = {cause: prior for cause in named if (prior := prior_of(cause.property, figures[cause]))}
    shares = (SHARES,) if any(SHARES in jar.causes for jar in jars) else ()
    return _Bench(tuple(jars), (*known, *shares), known)


def _number(
    place: int, bench: _Bench, found: Calibration, figures: Mapping[Cause, Figure], table: Worktable
) -> Number:
    cause = bench.causes[place]
    prior, figure = bench.priors[cause], figures[cause]
    state: State = "learned" if found.told(place) else "mixed up" if found.mixed_up(place) else "left"
    after = prior.ends(found.at[place], math.sqrt(found.left(place)))
    speaking = {
        name
        for jar, row in zip(bench.jars, found.slopes, strict=True)
        if abs(row[place]) >= SPEAKS
        for name in jar.trials
    }
    partners = tuple(bench.causes[one] for one in found.partners(place)) if state == "mixed up" else ()
    name = _called(cause, table)
    return Number(
        cause,
        name,
        WAYS[cause.property].told.format(name),
        figure.unit,
        (figure.value, figure.low, figure.high),
        after,
        state,
        tuple(name for name in _once(bench.jars) if name in speaking),
        found.left(place),
        tuple(_words(one, table) for one in partners),
        WAYS[cause.property].settled.format(name) if state != "learned" else "",
        figure != UNKNOWN.get(cause.property),
    )


def _once(jars: Sequence[Jar]) -> list[str]:
    return list(dict.fromkeys(name for jar in jars for name in jar.trials))


def _called(cause: Cause, table: Worktable) -> str:
    name = table.ingredients[cause.ingredient].name
    return f"{name}, lot {cause.lot}" if cause.lot else name


def _words(cause: Cause, table: Worktable) -> str:
    if cause == SHARES:
        return "the shares that composition.csv leaves open"
    return WAYS[cause.property].told.format(_called(cause, table))


def _left_out(bench: _Bench, trials: Sequence[Trial]) -> tuple[Foretold, ...]:
    table = bench.fit(())
    found: list[Foretold] = []
    for trial in trials:
        own = [jar for jar in bench.jars if jar.trial == trial.id]
        others = [jar for jar in bench.jars if trial.id not in jar.trials]
        if own:
            fit = bench.fit(others)
            found += [
                Foretold(
                    trial.id,
                    jar.asked,
                    jar.unit,
                    jar.read,
                    _told(bench, jar, table),
                    _told(bench, jar, fit),
                    _speaking_of(jar, others),
                )
                for jar in own
            ]
    return tuple(found)


def _speaking_of(jar: Jar, others: Sequence[Jar]) -> tuple[str, ...]:
    """Trials whose readings share a number with this one's."""
    return tuple(_once([one for one in others if set(one.causes) & set(jar.causes)]))


def _told(bench: _Bench, jar: Jar, fit: Calibration) -> tuple[float, float, float]:
    """(value, low, high) of one more reading, 95 %: by what is not known of the numbers and its own error."""
    middle = jar.scaled(jar.foretell(bench.values(fit.at)))
    slopes = []
    for place in range(len(bench.causes)):
        there = list(fit.at)
        there[place] += STEP
        slopes.append((jar.scaled(jar.foretell(bench.values(there))) - middle) / STEP)
    half = CONFIDENCE * math.sqrt(fit.variance(slopes) + jar.error**2)
    return jar.back(middle), jar.back(middle - half), jar.back(middle + half)


STEP = 1e-4
