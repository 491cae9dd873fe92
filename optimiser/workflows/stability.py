"""How long a measure of a trial's, or of a formula's, jars stays within limits."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from optimiser.domain.trials import Trial
from optimiser.errors import UsageError
from optimiser.problems import did_you_mean
from optimiser.requests.sources import Sources
from optimiser.trials.stability import Limits, Stability, stability
from optimiser.units.numbers import DecimalMark, NumberFault, read_number
from optimiser.workflows.trials import all_trials

WORDS = ("at_least", "at_most")


def estimate(sources: Sources, word: str, measure: str, asked: Sequence[str], at_c: float) -> Stability:
    """Of the trial of that id, or of every trial of that formula that was not dropped. Raises UsageError."""
    trials = _trials(Path(sources.worktable.folder), word)
    limits = limits_of(asked, sources.worktable.settings.decimal)
    found = stability(trials, measure, limits, at_c)
    if not found.kept:
        known = sorted({e.measure for t in trials for e in t.counting if e.what == "visit" and e.measure})
        hint = "; ".join(found.out) or (
            f"there are visits with {', '.join(known)}"
            if known
            else 'write one down: optimiser trial record TRIAL --on DAY --stored "40 C" --read ph=4.8'
        )
        raise UsageError(f"no visit of {word} tells {measure}", hint)
    return found


def _trials(folder: Path, word: str) -> tuple[Trial, ...]:
    every = all_trials(folder)
    found = tuple(one for one in every if one.id == word)
    found = found or tuple(one for one in every if one.formula == word and one.state != "dropped")
    if not found:
        names = sorted({one.id for one in every} | {one.formula for one in every})
        hint = did_you_mean(word, names) or "optimiser trial list shows what there is"
        raise UsageError(f'no trial is called "{word}", and none is of such a formula', hint)
    return found


def limits_of(asked: Sequence[str], decimal: DecimalMark) -> Limits:
    """`at_least 4.5` and `at_most 5.5`; both may be asked. Raises UsageError."""
    ends: dict[str, float] = {}
    for text in asked:
        name, _, number = text.strip().replace("-", "_", 1).partition(" ")
        value = read_number(number, decimal=decimal)
        if name not in WORDS or isinstance(value, NumberFault):
            raise UsageError(f'"{text}" is no limit', 'write "at_least 4.5" or "at_most 5.5"')
        ends[name] = float(value)
    if not ends:
        raise UsageError("a limit is needed", 'such as --limit "at_least 4.5"')
    return Limits(ends.get("at_least"), ends.get("at_most"))
