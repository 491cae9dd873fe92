"""Trials side by side: beside their plan, beside a formula or a saved proposal, beside each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from optimiser.domain.comparison import Comparison, LinePair, MeasurePair, Side
from optimiser.domain.readings import READABLE
from optimiser.domain.request import Slot
from optimiser.domain.trials import Expected, Trial
from optimiser.loading.trials import trial_files
from optimiser.requests.sources import Sources
from optimiser.trials.expecting import expected_of
from optimiser.workflows.compare import compare, opened
from optimiser.workflows.trials import get_trial

ZERO = Fraction(0)
HUNDRED = Fraction(100)


@dataclass(frozen=True, slots=True)
class _Told:
    """One side: shares in % w/w by ingredient, those dosed by reading, and (unit, value) by measure."""

    side: Side
    shares: Mapping[str, Fraction]
    dosed: frozenset[str]
    measures: Mapping[str, tuple[str, Fraction]]


def is_trial(sources: Sources, word: str) -> bool:
    """Whether the word names a trial and no formula."""
    known = {path.stem for path in trial_files(Path(sources.worktable.folder))}
    return word in known and word not in sources.worktable.formulas


def compare_any(sources: Sources, first: str, second: str) -> Comparison:
    """Like `compare`, and takes ids of trials too: as weighed, with the last reading of each measure.

    Raises UsageError, DataError or OptimiserError.
    """
    if not is_trial(sources, first) and not is_trial(sources, second):
        return compare(sources, first, second)
    return _beside(sources, _told(sources, first), _told(sources, second))


def beside_its_plan(sources: Sources, word: str) -> Comparison:
    """A trial as planned and foretold when it was opened, beside what was weighed and read."""
    trial = get_trial(Path(sources.worktable.folder), word)
    return _beside(sources, _planned(sources, trial), _made(sources, trial))


def _told(sources: Sources, word: str) -> _Told:
    if is_trial(sources, word):
        return _made(sources, get_trial(Path(sources.worktable.folder), word))
    told = opened(sources, word)
    lines = told.proposal.lines
    shares: dict[str, Fraction] = {}
    for line in lines:
        shares[line.ingredient] = shares.get(line.ingredient, ZERO) + line.percent
    slots = {Slot(line.ingredient, line.phase): line.percent for line in lines}
    dosed = frozenset(line.ingredient for line in lines if line.dosed is not None)
    return _Told(told.side, shares, dosed, _foretold(expected_of(told.request, slots)))


def _planned(sources: Sources, trial: Trial) -> _Told:
    grams: dict[str, Fraction] = {}
    for line in trial.lines:
        grams[line.ingredient] = grams.get(line.ingredient, ZERO) + line.grams
    shares = _percent(grams)
    dosed = frozenset(line.ingredient for line in trial.lines if line.dosed)
    return _Told(_side(sources, trial, "as planned", shares), shares, dosed, _foretold(trial.expected))


def _made(sources: Sources, trial: Trial) -> _Told:
    shares = _percent(trial.grams)
    weighed = {one.ingredient for one in trial.counting if one.what == "weighed"}
    lines = {line.ingredient for line in trial.lines}
    words = f"as made, {len(lines & weighed)} of {len(lines)} ingredients weighed"
    read: dict[str, tuple[str, Fraction]] = {}
    for one in trial.counting:
        if one.what in ("read", "felt") and one.value is not None:
            read[one.measure] = (one.unit, one.value)
    dosed = frozenset(line.ingredient for line in trial.lines if line.dosed) - weighed
    return _Told(_side(sources, trial, words, shares), shares, dosed, read)


def _side(sources: Sources, trial: Trial, words: str, shares: Mapping[str, Fraction]) -> Side:
    known = sources.worktable.ingredients
    groups: dict[str, Fraction] = {}
    for name, share in shares.items():
        group = known[name].group if name in known else "gone from the table"
        groups[group] = groups.get(group, ZERO) + share
    ranked = tuple(sorted(groups.items(), key=lambda pair: (-pair[1], pair[0])))
    return Side(trial.id, f"Trial {trial.id}", words, ranked)


def _percent(grams: Mapping[str, Fraction]) -> dict[str, Fraction]:
    whole = sum(grams.values(), ZERO)
    return {name: one / whole * HUNDRED for name, one in grams.items()} if whole else {}


def _foretold(expected: tuple[Expected, ...]) -> dict[str, tuple[str, Fraction]]:
    return {one.measure: (one.unit, one.value) for one in expected}


def _beside(sources: Sources, one: _Told, other: _Told) -> Comparison:
    known = sources.worktable.ingredients
    new = sorted(set(other.shares) - set(one.shares), key=lambda name: (-other.shares[name], name))
    lines = tuple(
        LinePair(
            name,
            known[name].name if name in known else name,
            one.shares.get(name, ZERO),
            other.shares.get(name, ZERO),
            name in one.dosed | other.dosed,
        )
        for name in (*one.shares, *new)
    )
    names = dict.fromkeys((*one.measures, *other.measures))
    return Comparison(one.side, other.side, lines, tuple(_pair(name, one, other) for name in names), (), ())


def _pair(name: str, one: _Told, other: _Told) -> MeasurePair:
    mine, theirs = one.measures.get(name), other.measures.get(name)
    unit = next((told[0] for told in (mine, theirs) if told and told[0]), "")
    words = READABLE[name].words if name in READABLE else name
    if not unit:
        unit = "pH" if words.startswith("pH") else "" if name in READABLE else "of 10"
    return MeasurePair(words, unit, mine[1] if mine else None, theirs[1] if theirs else None)
