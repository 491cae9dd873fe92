"""Trials: opened with what is to be weighed and expected, written down, shown, never changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import partial
from pathlib import Path

from optimiser.domain.request import Request, Slot
from optimiser.domain.trials import Entry, Expected, Planned, Trial
from optimiser.errors import DataError, UsageError
from optimiser.export.trial_yaml import entries_text, trial_text
from optimiser.files.atomic import make_folder, write_new
from optimiser.files.journal import add_to, add_to_all
from optimiser.loading.folder import no_folder
from optimiser.loading.proposals import read_proposal
from optimiser.loading.readings import read_readings
from optimiser.loading.trials import parse_trial, read_trial, read_trials, trial_files
from optimiser.problems import Problem, did_you_mean
from optimiser.requests.sources import Sources
from optimiser.search.stock import draw
from optimiser.trials.expecting import expected_of
from optimiser.workflows.compare import Opened, opened
from optimiser.workflows.propose import as_it_stands
from optimiser.workflows.save import NAMED
from optimiser.workflows.sheet import SheetWanted, reopened, write_sheets
from optimiser.workflows.volumes import batch_grams
from optimiser.workflows.weigh import Reopen, weigh_out
from optimiser.workflows.worktable import find


@dataclass(frozen=True, slots=True)
class OpenedTrial:
    """The trial, its file and its sheets."""

    path: Path
    trial: Trial
    sheets: tuple[Path, ...] = ()


def open_trial(
    sources: Sources,
    word: str,
    day: date,
    *,
    name: str = "",
    size: str = "",
    to: Path | None = None,
    because: str = "",
    block: str = "",
) -> OpenedTrial:
    """Writes `trials/NAME.yaml` for a saved proposal or a formula, and a sheet with its name below `to`.

    Amounts are whole steps of the worktable's balances. `block` names the day of a plan it belongs to. A
    trial that is there is never written over.
    Only a saved proposal has a sheet. Raises UsageError, DataError or OptimiserError.
    """
    if to is not None and word in sources.worktable.formulas:
        raise _no_sheet(word)
    trial = plan_trial(sources, word, day, name=name, size=size, block=block)
    if to is not None and not trial.proposal:
        raise _no_sheet(trial.formula)
    folder = Path(sources.worktable.folder)
    path = keep_trial(folder, trial)
    if to is None:
        return OpenedTrial(path, trial)
    proposal = folder / "proposals" / trial.proposal
    wanted = SheetWanted(proposal, to, batch=size, because=because, trial=trial.id)
    try:
        return OpenedTrial(path, trial, write_sheets(wanted))
    except Exception:
        path.unlink(missing_ok=True)
        raise


def _no_sheet(formula: str) -> UsageError:
    fix = f"optimiser propose {formula} --save, then open its trial"
    return UsageError("a sheet is made of a saved proposal", fix)


def plan_trial(
    sources: Sources, word: str, day: date, *, name: str = "", size: str = "", block: str = ""
) -> Trial:
    """What `open_trial` writes; nothing is written. Raises UsageError, DataError or OptimiserError."""
    check_name(Path(sources.worktable.folder), name)
    told = opened(sources, word)
    formula = told.request.formula.id
    proposal = "" if told.side.id == formula else f"{told.side.id}.yaml"
    name = name or next_name(Path(sources.worktable.folder), formula)
    return replace(planned(sources, told, name, day, size, proposal), block=block)


def check_name(folder: Path, name: str) -> None:
    """Raises UsageError for what no new trial can be called; without a name it takes the next number."""
    if not name:
        return
    if not NAMED.fullmatch(name):
        raise UsageError(f'"{name}" is no name of a trial', "use letters, digits and hyphens, such as mask-3")
    if (folder / "trials" / f"{name}.yaml").exists():
        raise UsageError(f'a trial is called "{name}" already', "choose another name")


def keep_trial(folder: Path, trial: Trial) -> Path:
    """Writes a trial that was planned; one that is there is never written over. Raises OptimiserError."""
    path = folder / "trials" / f"{trial.id}.yaml"
    make_folder(path.parent)
    write_new(path, trial_text(trial))
    return path


def planned(sources: Sources, told: Opened, name: str, day: date, size: str, proposal: str) -> Trial:
    """The trial as it is to be weighed, with the lots that expire first and what it is expected to read."""
    settings, request = sources.worktable.settings, told.request
    batch_g = batch_grams(size, settings.decimal) if size else request.batch_g
    shares = {Slot(line.ingredient, line.phase): line.percent for line in told.proposal.lines}
    done = weigh_out(_again(sources, told, proposal), batch_g, settings.balances)
    grams = [weight.grams for weight in done.plan.weighing.weights]
    needed: dict[str, Fraction] = {}
    for (slot, _), one in zip(done.lines, grams, strict=True):
        needed[slot.ingredient] = needed.get(slot.ingredient, Fraction(0)) + one
    drawn = draw(sources.worktable.shelf, needed, day)
    lots = {name: taken[0].lot.lot for name, taken in drawn.taken.items() if taken}
    lines = tuple(
        Planned(slot.phase, slot.ingredient, one, slot in request.dosed, lots.get(slot.ingredient, ""))
        for (slot, _), one in zip(done.lines, grams, strict=True)
    )
    return Trial(
        name,
        request.formula.id,
        day,
        done.plan.weighing.batch_g,
        lines,
        expected_of(request, shares),
        proposal=proposal,
        table=sources.worktable.digest,
    )


def _again(sources: Sources, told: Opened, proposal: str) -> Reopen:
    """How the request is closed for another batch; a formula is weighed out whatever it breaks."""
    if proposal:
        path = Path(sources.worktable.folder) / "proposals" / proposal
        saved, problems = read_proposal(path, sources.worktable, sources.vocabulary)
        if saved is None:
            raise DataError(problems)
        return lambda grams: reopened(sources, saved, grams)

    def plain(grams: Fraction) -> tuple[Request, dict[Slot, Fraction]]:
        _, request = as_it_stands(sources, replace(told.request.formula, batch_g=grams))
        return replace(request, rules=()), dict(request.base)

    return plain


def next_name(folder: Path, formula: str) -> str:
    """`FORMULA-1`, or the number after the largest there is."""
    head = f"{formula}-"
    names = [path.stem for path in trial_files(folder) if path.stem.startswith(head)]
    taken = [int(tail) for name in names if (tail := name.removeprefix(head)).isdecimal()]
    return f"{head}{max(taken, default=0) + 1}"


def trial_file(folder: Path, word: str) -> Path:
    """The file of a trial by id. Raises UsageError with the nearest name."""
    files = {path.stem: path for path in trial_files(folder)}
    name = Path(word).stem if word.endswith(".yaml") else word
    if name not in files:
        known = f"there are: {', '.join(files)}" if files else "optimiser trial new opens one"
        raise UsageError(f'no trial is called "{word}"', did_you_mean(name, files) or known)
    return files[name]


def get_trial(folder: Path, word: str) -> Trial:
    """Raises UsageError, or DataError with every problem of the file."""
    trial, problems = read_trial(trial_file(folder, word))
    if trial is None:
        raise DataError(problems)
    return trial


def all_trials(folder: Path) -> tuple[Trial, ...]:
    """Every trial by day and name. Raises DataError, for a folder that is none too."""
    problem = no_folder(folder)
    if problem is not None:
        raise DataError((problem,))
    trials, problems = read_trials(folder)
    if problems:
        raise DataError(problems)
    return trials


def record(folder: Path, word: str, entries: Sequence[Entry], *, rest: Entry | None = None) -> Trial:
    """Adds entries to the end of a trial's file, all or none, under its lock; numbers follow on.

    `rest`, a weighing of no line, is written for every line that has none yet, with the grams planned.
    Raises UsageError, DataError or OptimiserError; what stood there stays, byte for byte.
    """
    path = trial_file(folder, word)
    found: dict[Path, Trial] = {}
    add_to(path, partial(_with_more, path, entries, found, rest=rest))
    return found[path]


def _with_more(
    path: Path,
    entries: Sequence[Entry],
    found: dict[Path, Trial],
    before: str,
    *,
    once: bool = False,
    rest: Entry | None = None,
) -> str:
    """Text to add to a trial's file; `found` takes the trial as it is then. With `once` only what is new."""
    trial = _parsed(before, path)
    own = unwritten(trial, entries) if once else entries
    if rest is not None:
        own = (*_as_planned(trial, own, rest), *own)
    numbered = [replace(one, number=len(trial.entries) + at) for at, one in enumerate(own, 1)]
    _fitting(trial, numbered)
    added = entries_text(numbered)
    joined = before if before.endswith("\n") else f"{before}\n"
    found[path] = _parsed(joined + added, path)
    return added


def _as_planned(trial: Trial, entries: Sequence[Entry], rest: Entry) -> tuple[Entry, ...]:
    """A weighing for every line without one; what is dosed has to be weighed by itself."""
    done = replace(trial, entries=(*trial.entries, *entries)).weighed
    left = [line for line in trial.lines if not line.dosed and line.ingredient not in done]
    if not left:
        raise UsageError(
            f"every line of {trial.id} that was planned by weight has been weighed",
            "leave --as-planned out; what was dosed is written with --weighed",
        )
    return tuple(replace(rest, ingredient=line.ingredient, lot=line.lot, grams=line.grams) for line in left)


def unwritten(trial: Trial, entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Those that the trial does not hold word for word, each as often as it is missing.

    What was taken back counts as held: it does not come back.
    """
    held = Counter(_wording(one) for one in trial.entries)
    found = []
    for one in entries:
        if held[_wording(one)]:
            held[_wording(one)] -= 1
        else:
            found.append(one)
    return tuple(found)


def _wording(entry: Entry) -> str:
    return entries_text([replace(entry, number=0, corrects=None)])


def _parsed(text: str, path: Path) -> Trial:
    trial, problems = parse_trial(text, f"trials/{path.name}")
    if trial is None:
        raise DataError(problems)
    return trial


def _fitting(trial: Trial, entries: Iterable[Entry]) -> None:
    """Only its lines are weighed, only an entry that counts is corrected, nothing is before its day."""
    known = {line.ingredient for line in trial.lines}
    counting = {one.number for one in trial.counting}
    for one in entries:
        if one.day < trial.opened:
            early = f"{one.day} is before trial {trial.id} was opened, {trial.opened}"
            raise UsageError(early, "look at the date")
        if one.what == "weighed" and one.ingredient not in known:
            hint = did_you_mean(one.ingredient, known) or f"its lines are {', '.join(sorted(known))}"
            raise UsageError(f"{one.ingredient} is no line of trial {trial.id}", hint)
        if one.corrects is not None and one.corrects not in counting:
            gone = f"trial {trial.id} has no entry {one.corrects} that counts"
            raise UsageError(gone, f"`optimiser trial show {trial.id}` numbers them")


@dataclass(frozen=True, slots=True)
class Beside:
    """One measure of a trial: what was expected, what was read; `inside` is None where one of them lacks."""

    measure: str
    unit: str
    expected: Expected | None
    readings: tuple[Entry, ...]

    @property
    def last(self) -> Fraction | None:
        return self.readings[-1].value if self.readings else None

    @property
    def inside(self) -> bool | None:
        if self.expected is None or self.last is None or self.other_shear:
            return None
        error = self.expected.error or Fraction(0)
        return self.expected.low - error <= self.last <= self.expected.high + error

    @property
    def other_shear(self) -> bool:
        """The last reading was made at another shear than the thickness was foretold at."""
        if self.expected is None or not self.readings:
            return False
        own, foretold = self.readings[-1].rate, self.expected.rate
        return own is not None and foretold is not None and own != foretold


def beside_of(trial: Trial) -> tuple[Beside, ...]:
    """Every measure expected or read, in the order expected, then as read."""
    expected = {one.measure: one for one in trial.expected}
    read = [one for one in trial.counting if one.what in ("read", "felt") and one.measure]
    found = []
    for measure in dict.fromkeys((*expected, *(one.measure for one in read))):
        readings = tuple(one for one in read if one.measure == measure)
        unit = expected[measure].unit if measure in expected else readings[0].unit
        found.append(Beside(measure, unit, expected.get(measure), readings))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would add, by trial; with problems nothing is written.

    `known` counts rows that the trials hold already: they are not added again.
    """

    entries: tuple[tuple[str, Entry], ...]
    problems: tuple[Problem, ...]
    written: bool = False
    known: int = 0


def import_readings(sources: Sources, path: Path, *, write: bool) -> Preview:
    """Readings of a CSV or XLSX file, shown; kept only with `write`, and only when no row has a fault.

    All trials are held and looked at before the first is written to. A table that has grown may be taken
    again: rows that were taken before are left out.
    """
    table = sources.worktable
    folder = Path(table.folder)
    trials = {trial.id: trial for trial in all_trials(folder)}

    def named(word: str) -> str | None:
        try:
            return find(word, table.ingredients, "ingredient").id
        except UsageError:
            return None

    found = read_readings(path, trials, table.settings.decimal, named)
    by_trial: dict[str, list[Entry]] = {}
    for name, entry in found.entries:
        by_trial.setdefault(name, []).append(entry)
    if found.problems:
        return Preview(found.entries, found.problems)
    fresh = {name: unwritten(trials[name], entries) for name, entries in by_trial.items()}
    if write:
        files = {trial_file(folder, name): entries for name, entries in by_trial.items()}
        done: dict[Path, Trial] = {}
        add_to_all(
            {path: partial(_with_more, path, entries, done, once=True) for path, entries in files.items()}
        )
    new = tuple((name, one) for name, entries in fresh.items() for one in entries)
    return Preview(new, (), write, len(found.entries) - len(new))
