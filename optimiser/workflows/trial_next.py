"""The next trials of a proposal, a trial or a formula: planned, and saved with a sheet each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from pathlib import Path

from optimiser.checks.judge import broken, judge
from optimiser.domain.outcome import Outcome, Proposals
from optimiser.domain.request import Request, Slot
from optimiser.domain.trials import Trial
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.proposal_yaml import proposal_text
from optimiser.files.atomic import make_folder, write_new
from optimiser.loading.proposals import SavedProposal, read_proposal
from optimiser.requests.options import Options
from optimiser.requests.sources import Sources
from optimiser.search.proposal import dress
from optimiser.search.propose import silent
from optimiser.solver.interface import Limits
from optimiser.trials.next_trials import Batch, NextTrials, Wanted, named_lines, next_trials
from optimiser.trials.room import Vary
from optimiser.units.numbers import NumberFault, read_number
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import Tell, propose, request_for
from optimiser.workflows.provenance import provenance_of
from optimiser.workflows.sheet import reopened
from optimiser.workflows.trials import OpenedTrial, all_trials, open_trial
from optimiser.workflows.worktable import find, home_of, open_worktable


@dataclass(frozen=True, slots=True)
class Start:
    """The formula the trials stand around: its request, its shares, and what was asked for it."""

    sources: Sources
    request: Request
    shares: Mapping[Slot, Fraction]
    options: Options
    limits: Limits = Limits()


def start_from(word: str, folder: Path, said: Mapping[str, object], tell: Tell = silent) -> Start | Outcome:
    """From a saved proposal (a path), a trial of the worktable (its id) or a formula with what is `said`.

    A formula that breaks a must of its brief is proposed for first; where that comes to nothing, its outcome
    comes back. Raises DataError, UsageError or OptimiserError.
    """
    path = Path(word)
    if path.parent.name == "proposals" and path.exists():
        sources = open_worktable(home_of(path))
        return _saved(sources, _proposal(path, sources))
    sources = open_worktable(folder)
    trials = {trial.id: trial for trial in all_trials(Path(sources.worktable.folder))}
    if word in trials:
        return _tried(sources, trials[word])
    if path.parent.name == "formulas" and path.exists():
        sources, word = open_worktable(home_of(path)), path.stem
    asked = ask(sources, word, said)
    request = request_for(sources, asked)
    if not broken(judge(request, request.base)):
        return Start(sources, request, request.base, asked.options, asked.limits)
    outcome = propose(sources, asked, tell)
    if not isinstance(outcome, Proposals):
        return outcome
    lines = outcome.proposals[0].lines
    shares = {Slot(line.ingredient, line.phase): line.percent for line in lines}
    return Start(sources, outcome.request, shares, asked.options, asked.limits)


def _proposal(path: Path, sources: Sources) -> SavedProposal:
    saved, problems = read_proposal(path, sources.worktable, sources.vocabulary)
    if saved is None:
        raise DataError(problems)
    return saved


def _saved(sources: Sources, saved: SavedProposal) -> Start:
    request, shares = reopened(sources, saved, saved.batch_g)
    said = saved.leave_out, saved.instead_of, saved.only_from, saved.aim, saved.bare, saved.firm, saved.moved
    _passes(request, shares)
    return Start(sources, request, shares, Options(saved.briefs, *said))


def _tried(sources: Sources, trial: Trial) -> Start:
    """The proposal a trial was opened from; without one the formula under the trial's briefs."""
    folder = Path(sources.worktable.folder)
    for path in (folder / "proposals" / trial.proposal, folder / trial.proposal):
        if trial.proposal and path.is_file():
            return _saved(sources, _proposal(path, sources))
    asked = ask(sources, trial.formula, {"briefs": trial.briefs})
    request = request_for(sources, asked)
    _passes(request, request.base)
    return Start(sources, request, request.base, asked.options)


def _passes(request: Request, shares: Mapping[Slot, Fraction]) -> None:
    failed = broken(judge(request, shares))
    if failed:
        raise UsageError(
            f"the judge does not pass this formula on today's data: {failed[0].rule.head.sentence}",
            "run propose again and start from its answer",
        )


def lines_of(start: Start, words: Sequence[str]) -> tuple[Vary, ...]:
    """`kaolin,glycerin` or `kaolin=18..24`, several times or with commas. Raises UsageError."""
    found: dict[str, Vary] = {}
    for word in (part.strip() for one in words for part in one.split(",")):
        if not word:
            continue
        name, given, limits = word.partition("=")
        ingredient = find(name.strip(), start.request.ingredients, "ingredient").id
        own = [
            slot for slot in start.request.slots if slot.ingredient == ingredient and start.shares.get(slot)
        ]
        if len(own) > 1:
            raise UsageError(
                f"{name} stands in {len(own)} phases, so its share is not one line", "name others"
            )
        slot = own[0] if own else Slot(ingredient, "")
        low, high = _limits(limits, word) if given else (None, None)
        found.setdefault(word, Vary(slot, low, high))
    named_lines(start.request, start.shares, found)
    lines = tuple(found.values())
    if len({one.slot for one in lines}) < len(lines):
        raise UsageError("a line is named twice", "name each line once")
    return lines


def _limits(text: str, word: str) -> tuple[Fraction, Fraction]:
    ends = [read_number(part.strip().rstrip("%")) for part in text.split("..")]
    if len(ends) != 2 or any(isinstance(end, NumberFault) for end in ends):
        raise UsageError(f'"{word}" does not say from where to where', "write it so: kaolin=18..24")
    low, high = (end for end in ends if isinstance(end, Fraction))
    if low > high:
        raise UsageError(f'"{word}" ends before it begins', f"write {word.partition('=')[0]}={high}..{low}")
    return low, high


def plan(start: Start, vary: Sequence[str], wanted: Wanted) -> NextTrials:
    """The next trials around the start, beside all trials of the same formula that are written down.

    Raises UsageError or OptimiserError where there is no room or the batches are too few.
    """
    every = all_trials(Path(start.sources.worktable.folder))
    trials = [one for one in every if one.formula == start.request.formula.id]
    return next_trials(start.request, start.shares, lines_of(start, vary), trials, wanted, start.limits)


@dataclass(frozen=True, slots=True)
class Opened:
    """One batch of a plan on disk: its saved proposal, its trial, and its sheet where one was asked for."""

    batch: Batch
    proposal: Path
    trial: OpenedTrial


def open_plan(
    start: Start,
    planned: NextTrials,
    day: date,
    to: Path | None = None,
    because: str = "",
    size: str = "",
    tell: Tell = silent,
) -> tuple[Opened, ...]:
    """A saved proposal and an open trial for every batch, and its sheet below `to`, in the order of the plan.

    A batch that is made again has its own. Nothing is written over. Raises OptimiserError; then nothing of
    the plan stays.
    """
    sources = start.sources
    folder = Path(sources.worktable.folder) / "proposals"
    make_folder(folder)
    code = provenance_of(sources, start.request).code[:6]
    stem = f"{start.request.formula.id}-{code}-plan"
    number = 1
    while list(folder.glob(f"{stem}{number}-*.yaml")):
        number += 1
    written: list[Path] = []
    done: list[Opened] = []
    try:
        count = len(planned.batches)
        work = "opening its trial" + (" and writing its sheet" if to else "")
        for batch in planned.batches:
            tell(f"batch {batch.number} of {count}: {work}")
            path = folder / f"{stem}{number}-{batch.number:02d}.yaml"
            write_new(path, _proposal_of(start, batch, count))
            written.append(path)
            block = f"{day} plan {number}, day {batch.block}" if planned.wanted.by_days else ""
            trial = open_trial(sources, str(path), day, size=size, to=to, because=because, block=block)
            written += [trial.path, *trial.sheets]
            done.append(Opened(batch, path, trial))
    except OptimiserError:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    return tuple(done)


def _proposal_of(start: Start, batch: Batch, count: int) -> str:
    heading = f"trial {batch.number} of {count}"
    request = replace(start.request, name=f"{start.request.formula.name} · {heading}")
    proposal = dress(request, batch.spot.shares, (), heading)
    return proposal_text(
        proposal, request, start.options, provenance=provenance_of(start.sources, start.request)
    )
