"""From trials with a score or a reading to a fitted response, or to the reasons why there is none."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from optimiser.domain.response import Fitted, Reach
from optimiser.domain.trials import Entry, Trial
from optimiser.errors import UsageError
from optimiser.statistics.quantiles import one_sided
from optimiser.statistics.scheffe import Fit, Kind, Model, Refusal, fit, lows_of

ZERO, HUNDRED = Fraction(0), Fraction(100)
STEP = Fraction(1, 1000)
"""Bounds are written in whole printed steps, outward."""
BESIDE = Fraction(1, 10)
"""What was held the same may be off by this part of itself and still count as the same."""
VARIES_BY, VARIES_PART = Fraction(1, 2), Fraction(1, 20)
"""A line varies by this many points, or by this part of its mean."""
SCORES = (ZERO, Fraction(10))
DIGITS = 12
READ = ("read", "felt")


@dataclass(frozen=True, slots=True)
class Gathered:
    """Trials that have the measure: shares in % w/w by ingredient, and the mean of what each was read at.

    `dosed` lines stop at a reading of their own: they count as without effect.
    """

    measure: str
    trials: tuple[str, ...]
    shares: tuple[Mapping[str, Fraction], ...]
    readings: tuple[Fraction, ...]
    varied: tuple[str, ...]
    dosed: tuple[str, ...]
    unit: str = ""
    felt: bool = False

    @property
    def points(self) -> list[list[Fraction]]:
        """One row a trial, one column for each of what varied."""
        return [[row.get(name, ZERO) for name in self.varied] for row in self.shares]


def gather(trials: Iterable[Trial], measure: str, varied: Sequence[str] = ()) -> Gathered:
    """What the trials tell of one measure. Raises UsageError where nothing can be fitted to it."""
    there = [(trial, _entries(trial, measure)) for trial in trials]
    found = [(trial, entries) for trial, entries in there if entries]
    if not found:
        known = sorted({e.measure for trial, _ in there for e in trial.counting if e.what in READ})
        fix = f"there are: {', '.join(known)}" if known else "write one down with `optimiser trial record`"
        raise UsageError(f'no trial has a reading or score called "{measure}"', fix)
    formulas = sorted({trial.formula for trial, _ in found})
    if len(formulas) > 1:
        raise UsageError(f"the trials are of {', '.join(formulas)}", "name the trials of one formula")
    units = sorted({entry.unit for _, entries in found for entry in entries})
    if len(units) > 1:
        told = ", ".join(unit or "no unit" for unit in units)
        raise UsageError(f"{measure} was written down in {told}", "correct the entries to one unit")
    shares = tuple(_shares(trial) for trial, _ in found)
    dosed = {line.ingredient for trial, _ in found for line in trial.lines if line.dosed}
    names = tuple(varied) or varying(shares, dosed)
    strange = [name for name in names if not any(row.get(name) for row in shares)]
    if strange:
        raise UsageError(f"no trial has {strange[0]}", f"there are: {', '.join(sorted(shares[0]))}")
    if len(found) == 1:
        raise UsageError(
            f"{found[0][0].id} alone has {measure}: one trial does not tell how the lines work",
            "make others; `optimiser trial next` plans them",
        )
    if len(names) < 2:
        raise UsageError(
            "the trials hardly differ: nothing can be learnt of how the lines work",
            "vary two lines or more; `optimiser trial next` plans such trials",
        )
    return Gathered(
        measure,
        tuple(trial.id for trial, _ in found),
        shares,
        tuple(_mean(entries) for _, entries in found),
        names,
        tuple(sorted(dosed - set(names))),
        units[0],
        all(entry.what == "felt" for _, entries in found for entry in entries),
    )


def _entries(trial: Trial, measure: str) -> list[Entry]:
    return [e for e in trial.counting if e.what in READ and e.measure == measure and e.value is not None]


def _mean(entries: Sequence[Entry]) -> Fraction:
    return sum((entry.value or ZERO for entry in entries), ZERO) / len(entries)


def _shares(trial: Trial) -> dict[str, Fraction]:
    grams = trial.grams
    total = sum(grams.values(), ZERO)
    if total <= 0:
        raise UsageError(f"trial {trial.id} weighs nothing", "record what was weighed")
    return {name: own / total * HUNDRED for name, own in sorted(grams.items())}


def varying(shares: Sequence[Mapping[str, Fraction]], dosed: Iterable[str]) -> tuple[str, ...]:
    """Lines that the trials had in amounts that differ by more than weighing does, the largest first."""
    names = sorted({name for row in shares for name in row} - set(dosed))
    means = {name: sum((row.get(name, ZERO) for row in shares), ZERO) / len(shares) for name in names}

    def moves(name: str) -> bool:
        own = [row.get(name, ZERO) for row in shares]
        by = max(own) - min(own)
        return by > VARIES_BY or by > VARIES_PART * means[name]

    return tuple(sorted((name for name in names if moves(name)), key=lambda name: (-means[name], name)))


def fitted_to(found: Gathered, kind: Kind) -> Fit | Refusal:
    """The model fitted; parts count from their least where they are multiplied."""
    points = found.points
    lows: tuple[float, ...] = ()
    if kind != "linear":
        rough = lows_of(points, len(found.varied))
        lows = tuple(math.floor(low / float(STEP)) * float(STEP) for low in rough)
    return fit(Model(found.varied, kind, lows=lows), points, found.readings)


def response_of(found: Gathered, fitted: Fit, day: date, free: Iterable[str] = ()) -> Fitted:
    """What is written down of a fit. Raises UsageError where nothing is left over to tell its scatter."""
    if fitted.residual is None:
        raise UsageError(
            "as many terms as trials: nothing is left over to tell how far a jar may be off",
            "make one more trial, or fit a model with fewer terms",
        )
    free = tuple(sorted({*found.dosed, *free} - set(found.varied)))
    totals = [sum(row, ZERO) for row in found.points]
    others = sorted({name for row in found.shares for name in row} - {*found.varied, *free})
    return Fitted(
        id=found.measure,
        name=found.measure.replace("-", " "),
        model=fitted.model.kind,
        varied=tuple(_reach(found, name, ZERO) for name in found.varied),
        together=_together(totals),
        terms=fitted.terms,
        coefficients=tuple(_exact(value) for value in fitted.coefficients),
        covariance=tuple(tuple(_exact(value) for value in row) for row in _even(fitted.covariance)),
        deviation=_exact(fitted.residual),
        freedom=fitted.freedom,
        sure=_exact(one_sided(fitted.freedom)),
        trials=found.trials,
        fitted=day,
        lows=tuple(_exact(low) for low in fitted.model.lows) or (ZERO,) * len(found.varied),
        others=tuple(_reach(found, name, BESIDE) for name in others),
        free=free,
        unit=found.unit,
        scale=SCORES if found.felt else None,
    )


def _together(totals: Sequence[Fraction]) -> tuple[Fraction, Fraction]:
    """As much as the rest leaves, where that is off by as much as it may."""
    rest = [HUNDRED - total for total in totals]
    low, high = HUNDRED - max(rest) * (1 + BESIDE), HUNDRED - min(rest) * (1 - BESIDE)
    return max(_down(low), ZERO), min(_up(high), HUNDRED)


def _reach(found: Gathered, name: str, beside: Fraction) -> Reach:
    own = [row.get(name, ZERO) for row in found.shares]
    return Reach(name, _down(min(own) * (1 - beside)), min(_up(max(own) * (1 + beside)), HUNDRED))


def _down(value: Fraction) -> Fraction:
    return math.floor(value / STEP) * STEP


def _up(value: Fraction) -> Fraction:
    return math.ceil(value / STEP) * STEP


def _exact(value: float) -> Fraction:
    """The number in twelve digits, exact from there on."""
    return Fraction(f"{value:.{DIGITS}g}")


def _even(square: Sequence[Sequence[float]]) -> list[list[float]]:
    """The same on both sides of the diagonal."""
    size = range(len(square))
    return [[square[max(i, j)][min(i, j)] for j in size] for i in size]


def unsettled(fitted: Fit) -> tuple[tuple[str, ...], ...]:
    """What the trials leave open: pairs of lines of a straight model that do alike, terms that may be none.

    Told by twice the standard error.
    """
    if not fitted.covariance:
        return ()
    own, c = fitted.coefficients, fitted.covariance
    if fitted.model.kind == "linear":
        pairs = itertools.combinations(range(len(own)), 2)
        close = (
            (i, j) for i, j in pairs if abs(own[i] - own[j]) < 2 * math.sqrt(c[i][i] + c[j][j] - 2 * c[i][j])
        )
        return tuple((*fitted.terms[i], *fitted.terms[j]) for i, j in close)
    crossed = (n for n, term in enumerate(fitted.terms) if len(term) > 1)
    return tuple(fitted.terms[n] for n in crossed if abs(own[n]) < 2 * math.sqrt(c[n][n]))
