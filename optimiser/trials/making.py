"""How trials were made: settings of the work that were varied, and the days that batches share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from optimiser.domain.response import Setting
from optimiser.domain.trials import Trial
from optimiser.errors import UsageError
from optimiser.problems import did_you_mean

By = Literal["plan", "day", "none"]


def settings_of(trials: Sequence[Trial], names: Sequence[str]) -> tuple[Setting, ...]:
    """The settings called `names` with the span that the trials had of each.

    Raises UsageError where a trial does not say it, says it in another unit, or all had the same.
    """
    return tuple(_setting(trials, name) for name in names)


def _setting(trials: Sequence[Trial], name: str) -> Setting:
    known = sorted({one for trial in trials for one in trial.settings})
    if name not in known:
        fix = f"there are: {', '.join(known)}" if known else "optimiser trial record … --made stirring=800rpm"
        raise UsageError(f'no trial says how it was made by "{name}"', did_you_mean(name, known) or fix)
    silent = [trial.id for trial in trials if name not in trial.settings]
    if silent:
        raise UsageError(
            f"{name} was not written down of {', '.join(silent)}",
            f"optimiser trial record {silent[0]} --made {name}=…, or name the trials that have it",
        )
    units = sorted({trial.settings[name].unit for trial in trials})
    if len(units) > 1:
        told = ", ".join(unit or "no unit" for unit in units)
        raise UsageError(f"{name} was written down in {told}", "correct the entries to one unit")
    values = [entry.value for trial in trials if (entry := trial.settings[name]).value is not None]
    if min(values) == max(values):
        raise UsageError(
            f"{name} was the same in all trials: nothing can be learnt of it",
            "leave it out, or make trials in which it differs",
        )
    return Setting(name, units[0], min(values), max(values))


def uncounted(trials: Sequence[Trial], names: Sequence[str]) -> tuple[str, ...]:
    """Settings that differ among the trials, or are told of some only, and are not among `names`."""
    there = sorted({one for trial in trials for one in trial.settings} - set(names))
    told = {one: {(e.value, e.unit) if (e := t.settings.get(one)) else None for t in trials} for one in there}
    return tuple(one for one in there if len(told[one]) > 1)


def block_of(trial: Trial) -> str:
    """The day of a plan that it belongs to; without a plan the day it was made."""
    return trial.block or trial.made_on.isoformat()


def blocks_of(trials: Sequence[Trial], by: By | None) -> tuple[str, ...]:
    """The day or planned block of each trial; empty where they count as made on one day.

    `plan`: as `trial next` planned them, a trial without a plan by its day. `day`: by the day it was made.
    None: by the plan where a trial belongs to one and others to another day, else not at all.
    """
    planned = tuple(block_of(trial) for trial in trials)
    if by is None:
        by = "plan" if any(trial.block for trial in trials) and len(set(planned)) > 1 else "none"
    if by == "none":
        return ()
    found = planned if by == "plan" else tuple(trial.made_on.isoformat() for trial in trials)
    if len(set(found)) < 2:
        raise UsageError(
            f"all trials were made on {found[0]}: no day can be told from another",
            "leave --block out, or write other trials down with the day they were made",
        )
    return found
