"""Fit a response to trials of a worktable, and keep it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from optimiser.domain.response import Fitted
from optimiser.domain.trials import Trial
from optimiser.errors import DataError, UsageError
from optimiser.export.response_svg import response_svg
from optimiser.export.response_yaml import response_text
from optimiser.files.atomic import make_folder, write_atomic
from optimiser.loading.places import ID
from optimiser.loading.trials import read_trials
from optimiser.problems import did_you_mean
from optimiser.requests.sources import Sources
from optimiser.statistics.scheffe import Crossed, Fit, Kind, Refusal, Term
from optimiser.trials.fitting import Gathered, How, fitted_to, gather, response_of
from optimiser.workflows.worktable import find, open_worktable


@dataclass(frozen=True, slots=True)
class FitWanted:
    """What to fit: the measure, trials by id (none: all that have it), lines that vary (none: found).

    `how` names settings and days that count as well, `crossed` what of the lines a setting works on.
    """

    measure: str
    trials: tuple[str, ...] = ()
    kind: Kind = "linear"
    varied: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    how: How = field(default_factory=How)
    crossed: Crossed = "linear"


@dataclass(frozen=True, slots=True)
class FitFound:
    """The fit to these trials; `response` is None where nothing is left over to tell its scatter."""

    sources: Sources
    gathered: Gathered
    fit: Fit
    response: Fitted | None
    untold: str = ""


def fit_trials(folder: Path, wanted: FitWanted, day: date) -> FitFound:
    """Raises DataError for trials that cannot be read, UsageError with the reason where there is no fit."""
    sources = open_worktable(folder)
    trials, problems = read_trials(folder)
    if problems:
        raise DataError(problems)
    known = sources.worktable.ingredients
    varied = tuple(find(word, known, "ingredient").id for word in wanted.varied)
    free = tuple(find(word, known, "ingredient").id for word in wanted.free)
    found = gather(_named(trials, wanted.trials), wanted.measure, varied, wanted.how)
    fitted = fitted_to(found, wanted.kind, wanted.crossed)
    if isinstance(fitted, Refusal):
        raise UsageError(*refused(fitted, found, wanted))
    try:
        return FitFound(sources, found, fitted, response_of(found, fitted, day, free))
    except UsageError as fault:
        return FitFound(sources, found, fitted, None, fault.what)


def _named(trials: Sequence[Trial], names: Sequence[str]) -> tuple[Trial, ...]:
    known = {trial.id: trial for trial in trials}
    for name in names:
        if name not in known:
            hint = did_you_mean(name, known)
            there = f"there are: {', '.join(known) or 'none'}"
            raise UsageError(f'no trial is called "{name}"', hint or there)
    return tuple(known[name] for name in names) if names else tuple(trials)


def refused(refusal: Refusal, found: Gathered, wanted: FitWanted) -> tuple[str, str]:
    """(why there is no fit, what to do)."""
    kind = wanted.kind
    simpler = "" if kind == "linear" else "fit --model linear, "
    if found.settings and wanted.crossed != "alike":
        simpler += "let settings work on all lines --alike, "
    if found.blocks:
        simpler += "leave days out with --block none, "
    fewer = f"{simpler}or name fewer lines with --in"
    if refusal.reason == "too few trials":
        why = (
            f"{refusal.trials} trials with {found.measure}, {refusal.different} of them different, are too "
            f"few: a {kind} model of {_of_what(found)} has {refusal.wanted} terms and wants "
            f"{refusal.wanted + 1} trials"
        )
        return why, f"make more trials (`optimiser trial next` plans them), {fewer}"
    groups = "; ".join(" with ".join(map(_term, group)) for group in refusal.together)
    return (
        f"the trials cannot tell apart: {groups}",
        f"make trials in which these move by themselves, {fewer}",
    )


def _of_what(found: Gathered) -> str:
    days = len(set(found.blocks))
    told = ", ".join((*found.varied, *(one.name for one in found.settings)))
    return f"{told} over {days} days" if days else told


def _term(term: Term) -> str:
    return f"the day of {term[1]}" if term[:1] == ("block",) else " × ".join(term)


def write_response(found: FitFound) -> Path:
    """`responses/MEASURE.yaml`, in place of an earlier one. Raises UsageError or OptimiserError."""
    if found.response is None:
        raise UsageError(found.untold, "make one more trial, or fit a model with fewer terms")
    name = found.response.id
    if not ID.fullmatch(name):
        raise UsageError(f'"{name}" is no name for a file', "call the measure by a-z, 0-9 and hyphens")
    folder = Path(found.sources.worktable.folder) / "responses"
    make_folder(folder)
    path = folder / f"{name}.yaml"
    write_atomic(path, response_text(found.response))
    return path


def draw_response(found: FitFound, path: Path) -> Path:
    """The drawing at `path`. Raises UsageError or OptimiserError."""
    if found.response is None:
        raise UsageError(found.untold, "make one more trial, or fit a model with fewer terms")
    names = {name: one.name for name, one in found.sources.worktable.ingredients.items()}
    write_atomic(path, response_svg(found.response, names, found.gathered.points))
    return path
