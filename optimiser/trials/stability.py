"""How long a measure of retained jars stays within its limits: an estimate, never a claim."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.trials import Entry, Trial
from optimiser.statistics.stability import POOL, Line, Rate, alike, arrhenius, line_through, meets

TWICE, YEAR = 2, 365
"""Beyond what was observed, at most twice as long and at most a year more (ICH Q1E, from memory)."""
Condition = tuple[Fraction | None, str]
"""(°C, light)."""
Points = Mapping[str, Sequence[tuple[float, float]]]
"""(days, value) by trial."""


@dataclass(frozen=True, slots=True)
class Limits:
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """Jars kept alike. `days` is how long the mean surely stays within the limits by the line (None: always,
    as far as it tells); `observed` the last visit; `told` the days that may be said, `why` what limits
    them. `line` is the one that counts: of all trials, or of the one that comes out shortest.
    """

    condition: Condition
    count: int
    trials: tuple[str, ...]
    observed: int
    pooled: bool
    line: Line | None = None
    days: float | None = None
    told: int = 0
    why: tuple[str, ...] = ()

    @property
    def beyond(self) -> bool:
        return self.told > self.observed


@dataclass(frozen=True, slots=True)
class Stability:
    """`at_room` days at `at_c` by rates over temperature, or `no_rate` says why that is not told."""

    measure: str
    unit: str
    limits: Limits
    kept: tuple[Kept, ...]
    at_c: float
    rate: Rate | None = None
    at_room: float | None = None
    no_rate: str = ""
    out: tuple[str, ...] = ()


def stability(trials: Sequence[Trial], measure: str, limits: Limits, at_c: float = 25.0) -> Stability:
    """The estimate of every way of keeping; of all trials together where they are alike."""
    groups, unit, out = _gathered(trials, measure)
    kept = tuple(_kept(condition, groups[condition], limits) for condition in sorted(groups, key=_order))
    lines = {
        float(one.condition[0]): one.line
        for one in kept
        if one.line is not None and one.condition[0] is not None and not one.condition[1]
    }
    rate = arrhenius(lines, at_c)
    if isinstance(rate, str):
        return Stability(measure, unit, limits, kept, at_c, no_rate=rate, out=out)
    falls = next(iter(lines.values())).slope < 0
    limit = limits.low if falls else limits.high
    start = sum(line.start for line in lines.values()) / len(lines)
    if limit is None:
        return Stability(
            measure, unit, limits, kept, at_c, rate, no_rate="it moves away from the limit", out=out
        )
    return Stability(
        measure, unit, limits, kept, at_c, rate, max(abs(start - limit) / rate.most, 0.0), out=out
    )


def _order(condition: Condition) -> tuple[float, str]:
    return (-999.0 if condition[0] is None else float(condition[0]), condition[1])


def _gathered(
    trials: Sequence[Trial], measure: str
) -> tuple[dict[Condition, dict[str, list[tuple[float, float]]]], str, tuple[str, ...]]:
    """Visits by way of keeping, each trial's last fresh reading as its start; without frozen jars."""
    groups: dict[Condition, dict[str, list[tuple[float, float]]]] = {}
    units: set[str] = set()
    out: list[str] = []
    for trial in trials:
        visits = [one for one in trial.counting if one.what == "visit" and one.measure == measure]
        plain = [one for one in visits if not one.cycles and one.value is not None]
        if len(plain) < len(visits):
            out.append(f"{trial.id}: jars that were frozen and thawed tell nothing of the days")
        fresh = trial.readings(measure)[-1:]
        conditions = dict.fromkeys((one.stored_c, one.light) for one in plain)
        for condition in conditions:
            own = [one for one in plain if (one.stored_c, one.light) == condition]
            points = [_point(trial, one) for one in (*fresh, *own)]
            groups.setdefault(condition, {}).setdefault(trial.id, []).extend(points)
        units |= {one.unit for one in (*plain, *(fresh if plain else ()))}
    if len(units - {""}) > 1:
        out.append(f"readings in several units ({', '.join(sorted(units))}): give them in one")
        groups = {}
    return groups, next(iter(sorted(units - {""})), ""), tuple(out)


def _point(trial: Trial, one: Entry) -> tuple[float, float]:
    return float((one.day - trial.opened).days), float(one.value or 0)


def _kept(condition: Condition, points: Points, limits: Limits) -> Kept:
    """All trials as one where they are alike, else the one that stays within for the least time."""
    every = [point for own in points.values() for point in own]
    observed = int(max(day for day, _ in every))
    names = tuple(points)
    own = {name: line for name in names if (line := line_through(points[name])) is not None}
    if len(own) < len(names):
        short = [name for name in names if name not in own]
        lacking = (f"fewer than three readings of {', '.join(short)} on two days",)
        return Kept(condition, len(every), names, observed, False, why=lacking)
    slopes, starts = alike(points)
    pooled = slopes > POOL and starts > POOL
    lines = [line_through(every)] if pooled else list(own.values())
    timed = [(line, _within(line, limits)) for line in lines if line is not None]
    line, days = min(timed, key=lambda pair: float("inf") if pair[1] is None else pair[1])
    why = [] if pooled or len(names) == 1 else ["the trials are not alike: the shortest counts"]
    most = min(TWICE * observed, observed + YEAR)
    told = most if days is None else min(int(days), most)
    if told > observed:
        why.append(f"only {observed} days were observed: what is said beyond them is the line's, not seen")
    if days is None or days > most:
        why.append("the line goes on longer, but no more than twice what was observed is said")
    return Kept(condition, len(every), names, observed, pooled, line, days, told, tuple(why))


def _within(line: Line, limits: Limits) -> float | None:
    found = []
    if limits.low is not None:
        found.append(meets(line, limits.low, upper=False))
    if limits.high is not None:
        found.append(meets(line, limits.high, upper=True))
    known = [days for days in found if days is not None]
    return min(known, default=None)
