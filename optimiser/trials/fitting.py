"""From trials with a score or a reading to a fitted response, or to the reasons why there is none."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from optimiser.domain.response import Fitted, Reach, Setting
from optimiser.domain.trials import Entry, Trial
from optimiser.errors import UsageError
from optimiser.statistics.quantiles import one_sided
from optimiser.statistics.scheffe import Crossed, Fit, Kind, Model, Refusal, Term, fit, lows_of
from optimiser.trials.making import By, blocks_of, settings_of, uncounted

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
ROUNDING = 1e-11


@dataclass(frozen=True, slots=True)
class Gathered:
    """Trials that have the measure: shares in % w/w by ingredient, and the mean of what each was read at.

    `dosed` lines stop at a reading of their own: they count as without effect. `unweighed` trials have the
    measure too, but nobody wrote down what is in the jar: they do not count. `made` has a row a trial with a
    value for each of `settings`; `blocks` is the day of each, or empty; `uncounted` settings differ too.
    """

    measure: str
    trials: tuple[str, ...]
    shares: tuple[Mapping[str, Fraction], ...]
    readings: tuple[Fraction, ...]
    varied: tuple[str, ...]
    dosed: tuple[str, ...]
    unit: str = ""
    felt: bool = False
    unweighed: tuple[str, ...] = ()
    settings: tuple[Setting, ...] = ()
    made: tuple[tuple[Fraction, ...], ...] = ()
    blocks: tuple[str, ...] = ()
    uncounted: tuple[str, ...] = ()

    @property
    def points(self) -> list[list[Fraction]]:
        """One row a trial, one column for each of what varied."""
        return [[row.get(name, ZERO) for name in self.varied] for row in self.shares]

    @property
    def rows(self) -> list[list[Fraction]]:
        """The same with a column for each setting, from -1 to 1."""
        counted = (
            [one.counted(value) for one, value in zip(self.settings, own, strict=True)] for own in self.made
        )
        return [[*point, *own] for point, own in zip(self.points, counted, strict=True)]


@dataclass(frozen=True, slots=True)
class How:
    """What else counts: settings by name, and how trials are put together by days."""

    made: tuple[str, ...] = ()
    block: By | None = None


def gather(
    trials: Iterable[Trial], measure: str, varied: Sequence[str] = (), how: How | None = None
) -> Gathered:
    """What the trials tell of one measure. Raises UsageError where nothing can be fitted to it."""
    how = how or How()
    found, unweighed = _with_it(tuple(trials), measure)
    unit = _unit(found, measure)
    shares = tuple(_shares(trial) for trial in found)
    dosed = {line.ingredient for trial in found for line in trial.lines if line.dosed}
    names = tuple(varied) or varying(shares, dosed)
    settings = settings_of(found, how.made)
    _can_be_told(found, measure, shares, names, settings)
    return Gathered(
        measure,
        tuple(trial.id for trial in found),
        shares,
        tuple(_mean(_entries(trial, measure)) for trial in found),
        names,
        tuple(sorted(dosed - set(names))),
        unit,
        all(entry.what == "felt" for trial in found for entry in _entries(trial, measure)),
        unweighed,
        settings,
        tuple(tuple(trial.settings[one.name].value or ZERO for one in settings) for trial in found),
        blocks_of(found, how.block),
        uncounted(found, how.made),
    )


def _with_it(trials: Sequence[Trial], measure: str) -> tuple[tuple[Trial, ...], tuple[str, ...]]:
    """Trials of one formula that have the measure, and ids of others of which nothing was weighed."""
    found = [trial for trial in trials if _entries(trial, measure)]
    if not found:
        known = sorted({e.measure for trial in trials for e in trial.counting if e.what in READ})
        fix = f"there are: {', '.join(known)}" if known else "write one down with `optimiser trial record`"
        raise UsageError(f'no trial has a reading or score called "{measure}"', fix)
    unweighed = tuple(trial.id for trial in found if not trial.was_weighed)
    weighed = tuple(trial for trial in found if trial.was_weighed)
    if not weighed:
        raise UsageError(
            f"nothing of {', '.join(unweighed)} was weighed, so what {measure} was read of is not known",
            "write it down: `optimiser trial record` with --weighed, or --as-planned",
        )
    formulas = sorted({trial.formula for trial in weighed})
    if len(formulas) > 1:
        raise UsageError(f"the trials are of {', '.join(formulas)}", "name the trials of one formula")
    return weighed, unweighed


def _unit(found: Sequence[Trial], measure: str) -> str:
    units = sorted({entry.unit for trial in found for entry in _entries(trial, measure)})
    if len(units) > 1:
        told = ", ".join(unit or "no unit" for unit in units)
        raise UsageError(f"{measure} was written down in {told}", "correct the entries to one unit")
    return units[0]


def _can_be_told(
    found: Sequence[Trial],
    measure: str,
    shares: Sequence[Mapping[str, Fraction]],
    names: Sequence[str],
    settings: Sequence[Setting],
) -> None:
    """Raises UsageError where the trials are too few, or do not differ."""
    strange = [name for name in names if not any(row.get(name) for row in shares)]
    if strange:
        raise UsageError(f"no trial has {strange[0]}", f"there are: {', '.join(sorted(shares[0]))}")
    if len(found) == 1:
        raise UsageError(
            f"{found[0].id} alone has {measure}: one trial does not tell how the lines work",
            "make others; `optimiser trial next` plans them",
        )
    clash = sorted(set(names) & {one.name for one in settings})
    if clash:
        raise UsageError(f"{clash[0]} is an ingredient and a setting", "write the setting under another name")
    if len(names) < 2:
        raise UsageError(
            "the trials hardly differ: nothing can be learnt of how the lines work",
            "vary two lines or more; `optimiser trial next` plans such trials",
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


def fitted_to(found: Gathered, kind: Kind, crossed: Crossed = "linear") -> Fit | Refusal:
    """The model fitted; parts count from their least where they are multiplied.

    `crossed` says what of the lines a setting works on; days stand off from their mean.
    """
    points = found.points
    lows: tuple[float, ...] = ()
    if kind != "linear":
        rough = lows_of(points, len(found.varied))
        lows = tuple(math.floor(low / float(STEP)) * float(STEP) for low in rough)
    made = tuple(one.name for one in found.settings)
    model = Model(found.varied, kind, made, crossed, lows=lows)
    return fit(model, found.rows, found.readings, blocks=found.blocks or None)


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
    size = len(fitted.model.terms)
    scatter, freedom = scatter_of(fitted)
    return Fitted(
        id=found.measure,
        name=found.measure.replace("-", " "),
        model=fitted.model.kind,
        varied=tuple(_reach(found, name, ZERO) for name in found.varied),
        together=_together(totals),
        terms=fitted.model.terms,
        coefficients=tuple(_exact(value) for value in fitted.coefficients[:size]),
        covariance=tuple(
            tuple(_exact(value) for value in row[:size]) for row in _even(fitted.covariance)[:size]
        ),
        deviation=_exact(scatter),
        freedom=freedom,
        sure=_exact(one_sided(freedom)),
        trials=found.trials,
        fitted=day,
        lows=tuple(_exact(low) for low in fitted.model.lows) or (ZERO,) * len(found.varied),
        others=tuple(_reach(found, name, BESIDE) for name in others),
        free=free,
        unit=found.unit,
        scale=SCORES if found.felt else None,
        settings=found.settings,
    )


def off_days(fitted: Fit) -> tuple[float, ...]:
    """How far each day stands off from the mean of all; empty without days."""
    rest = [
        value for term, value in zip(fitted.terms, fitted.coefficients, strict=True) if term[:1] == ("block",)
    ]
    return (-math.fsum(rest), *rest) if rest else ()


def scatter_of(fitted: Fit) -> tuple[float, int]:
    """(scatter of one jar of another day about the model, degrees of freedom).

    Without days that of the fit. With b days their own spread s counts as well, once for the new day and once
    for the mean of b: residual² + s² (1 + 1/b); degrees of freedom after F. E. Satterthwaite, Biometrics
    Bulletin 2 (1946) 110-114 (from memory), rounded down.
    """
    own, days = fitted.residual or 0.0, off_days(fitted)
    if not days:
        return own, fitted.freedom
    count = len(days)
    more = math.fsum(day * day for day in days) / (count - 1) * (1 + 1 / count)
    whole = own**2 + more
    parts = own**4 / fitted.freedom + more**2 / (count - 1)
    freedom = math.floor(whole**2 / parts + 1e-9) if parts else fitted.freedom
    return math.sqrt(whole), min(max(freedom, 1), fitted.freedom + count - 1)


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
    """The same on both sides of the diagonal; what is nothing but rounding is nothing."""
    size = range(len(square))

    def cell(i: int, j: int) -> float:
        value = square[max(i, j)][min(i, j)]
        return value if value**2 > ROUNDING**2 * square[i][i] * square[j][j] else 0.0

    return [[cell(i, j) for j in size] for i in size]


def unsettled(fitted: Fit) -> tuple[tuple[str, ...], ...]:
    """What the trials leave open: pairs of lines of a straight model that do alike, terms that may be none.

    Told by twice the standard error.
    """
    if not fitted.covariance:
        return ()
    own, c = fitted.coefficients, fitted.covariance
    if fitted.model.kind == "linear":
        pairs = itertools.combinations(range(len(fitted.model.blend)), 2)
        close = (
            (i, j) for i, j in pairs if abs(own[i] - own[j]) < 2 * math.sqrt(c[i][i] + c[j][j] - 2 * c[i][j])
        )
        return tuple((*fitted.terms[i], *fitted.terms[j]) for i, j in close)
    return tuple(
        term for term in _small(fitted) if len(term) > 1 and not set(term) & set(fitted.model.process)
    )


def idle(fitted: Fit) -> tuple[Term, ...]:
    """Terms of settings that cannot be told from none, by twice the standard error."""
    made = set(fitted.model.process)
    return tuple(term for term in _small(fitted) if set(term) & made) if fitted.covariance else ()


def _small(fitted: Fit) -> Iterator[Term]:
    for n, term in enumerate(fitted.model.terms):
        if abs(fitted.coefficients[n]) < 2 * math.sqrt(fitted.covariance[n][n]):
            yield term
