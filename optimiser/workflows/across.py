"""The same asked of every formula of one or many worktables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass
from pathlib import Path
from time import monotonic

from optimiser.domain.across import FormulaAnswer, Range
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.across import range_csv, range_html, range_json
from optimiser.export.plain import clean
from optimiser.files.atomic import make_folder
from optimiser.files.forms import write_forms
from optimiser.files.journal import held
from optimiser.requests.sources import Sources
from optimiser.search.propose import silent
from optimiser.workflows.across_job import Job, Wishes, as_asked, first_of
from optimiser.workflows.across_kept import Store, open_store
from optimiser.workflows.choosing import ingredient, selector
from optimiser.workflows.spread import spread
from optimiser.workflows.worktable import find, open_worktable

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Tables:
    """The worktables as read, by label in the order given, and the answers of those that cannot be read.

    `labels` are all of them in the order given. `only` names formulas, by id; all where it is empty.
    """

    read: dict[str, tuple[Path, Sources]]
    faulty: tuple[FormulaAnswer, ...]
    labels: tuple[str, ...]
    only: frozenset[str] = frozenset()

    def formulas(self, label: str) -> list[str]:
        """Ids of the formulas of a worktable that are asked, sorted."""
        known = self.read[label][1].worktable.formulas
        return sorted(known if not self.only else self.only & set(known))


@dataclass(frozen=True, slots=True)
class Means:
    """How the work is done: processes here or a cluster; `to` is where answers are kept (None: nowhere)."""

    jobs: int = 1
    cluster: str = ""
    to: Path | None = None


def read_tables(folders: Sequence[Path], only: Sequence[str] = ()) -> Tables:
    """Every worktable; one that cannot be read becomes an answer of its own and the others go on.

    `only` names formulas by id or name. Raises UsageError for one that no worktable has.
    """
    read: dict[str, tuple[Path, Sources]] = {}
    faulty = []
    labels = tuple(_labels(folders))
    for folder, label in zip(folders, labels, strict=True):
        try:
            read[label] = folder, open_worktable(folder)
        except DataError as fault:
            faulty.append(FormulaAnswer(label, "", "", "not asked", why=first_of(fault)))
    every = [sources for _, sources in read.values()]
    for word in only:
        _somewhere(every, word, _formula)
    named = {one for word in only for sources in every if (one := _formula_id(word, sources))}
    return Tables(read, tuple(faulty), labels, frozenset(named))


def _formula(word: str, sources: Sources) -> str:
    return find(word, sources.worktable.formulas, "formula").id


def _formula_id(word: str, sources: Sources) -> str:
    try:
        return _formula(word, sources)
    except UsageError:
        return ""


def _labels(folders: Sequence[Path]) -> list[str]:
    """The last part of each folder; a folder given twice is refused, two of one name get a number."""
    found: list[str] = []
    if len({folder.resolve() for folder in folders}) < len(folders):
        raise UsageError("a worktable is named twice", "name each folder once")
    for folder in folders:
        name = clean(folder.resolve().name) or "worktable"
        number = 1
        while (name if number == 1 else f"{name} ({number})") in found:
            number += 1
        found.append(name if number == 1 else f"{name} ({number})")
    return found


def across(tables: Tables, wishes: Wishes, means: Means, tell: Tell = silent) -> Range:
    """Asks every formula; an interrupt ends the work early and keeps what is done.

    Raises UsageError for a name that no worktable knows, OptimiserError.
    """
    checked(tables, wishes)
    jobs = jobs_of(tables, wishes)
    with ExitStack() as held_open:
        store = None
        if means.to is not None:
            make_folder(means.to)
            held_open.enter_context(held(means.to / "across"))
            store = open_store(means.to, tables.labels, jobs)
        kept = {job: answer for job in jobs if store and (answer := store.kept(job)) is not None}
        found, stopped = _worked([job for job in jobs if job not in kept], means, store, tell)
    answers = [*tables.faulty, *kept.values(), *found.values()]
    ranks = {label: number for number, label in enumerate(tables.labels)}
    listed = tuple(sorted(answers, key=lambda one: (ranks[one.worktable], one.formula)))
    return Range(words_of(wishes), listed, len(jobs) + len(tables.faulty), len(kept), stopped)


def _worked(
    jobs: Sequence[Job], means: Means, store: Store | None, tell: Tell
) -> tuple[dict[Job, FormulaAnswer], bool]:
    """Answers as far as they came, and whether the work was stopped."""
    found: dict[Job, FormulaAnswer] = {}
    began = monotonic()
    tell(pace(0, len(jobs), 0.0))
    try:
        with closing(spread(jobs, means.jobs, means.cluster)) as coming:
            for done in coming:
                found[done.job] = store.keep(done) if store else done.answer
                tell(pace(len(found), len(jobs), monotonic() - began))
    except KeyboardInterrupt:
        return found, True
    return found, False


def pace(done: int, of: int, seconds: float) -> str:
    """`12 of 40 formulas · 1.5 a second · about 19 s to go`."""
    text = f"{done} of {of} formulas"
    if not done or seconds <= 0:
        return text
    rate = done / seconds
    per = f"{rate:.1f} a second" if rate >= 1 else f"{1 / rate:.1f} s each"
    left = (of - done) / rate
    togo = f"{left:.0f} s" if left < 90 else f"{left / 60:.0f} min" if left < 5400 else f"{left / 3600:.1f} h"
    return f"{text} · {per}" + (f" · about {togo} to go" if done < of else "")


def jobs_of(tables: Tables, wishes: Wishes) -> list[Job]:
    """A job a formula, by worktable and id."""
    return [
        Job(str(folder.resolve()), label, formula, sources.worktable.digest, wishes)
        for label, (folder, sources) in tables.read.items()
        for formula in tables.formulas(label)
    ]


def checked(tables: Tables, wishes: Wishes) -> None:
    """Every name asked must be known to at least one worktable. Raises UsageError with the nearest name."""
    every = [sources for _, sources in tables.read.values()]
    said = dict(wishes.said)
    if len(listed(said.get("instead_of"))) != len(listed(said.get("use"))):
        raise UsageError("--instead-of and --use go in pairs", "give one --use for each --instead-of")
    named = (*listed(said.get("instead_of")), *listed(said.get("use")), *(word for word, _ in wishes.prices))
    for look, words in (
        (selector, listed(said.get("leave_out"))),
        (ingredient, named),
        (_brief, listed(said.get("briefs"))),
    ):
        for word in words:
            _somewhere(every, word, look)
    for sources in every:
        as_asked(sources, wishes)


def _brief(word: str, sources: Sources) -> None:
    if word not in sources.worktable.briefs:
        known = ", ".join(sorted(sources.worktable.briefs)) or "none"
        raise UsageError(f'no brief is called "{word}"', f"there are: {known}")


def listed(said: object) -> tuple[str, ...]:
    return tuple(said) if isinstance(said, tuple | list) else ()


def _somewhere(every: Iterable[Sources], word: str, look: Callable[[str, Sources], object]) -> None:
    first: OptimiserError | None = None
    for sources in every:
        try:
            look(word, sources)
        except UsageError as fault:
            first = first or fault
        else:
            return
    if first is not None:
        raise first


def words_of(wishes: Wishes) -> str:
    """What is asked, in one line."""
    said = dict(wishes.said)
    parts = [f"without {word}" for word in listed(said.get("leave_out"))]
    swaps = zip(listed(said.get("use")), listed(said.get("instead_of")), strict=False)
    parts += [f"{use} instead of {out}" for use, out in swaps]
    parts += [f"brief {word}" for word in listed(said.get("briefs"))]
    parts += [f"{word} at {price}" for word, price in wishes.prices]
    if wishes.on:
        parts.append(f"the limits of {wishes.on.isoformat()}")
    if said.get("only_from"):
        parts.append("only from the shelf")
    parts += list(listed(said.get("aim")))
    if wishes.narrowed:
        parts.append(f"nothing new but {wishes.only_new}" if wishes.only_new else "nothing new")
    return clean(" · ".join(parts)) or "as the formulas stand"


def write_range(found: Range, tables: Tables, to: Path) -> tuple[Path, ...]:
    """The table as `across.html`, `across.csv` and `across.json` in the folder. Raises OptimiserError."""
    marks = {sources.worktable.settings.decimal for _, sources in tables.read.values()}
    writers = {
        "html": lambda: range_html(found, marks.copy().pop() if len(marks) == 1 else "point"),
        "csv": lambda: range_csv(found),
        "json": lambda: range_json(found),
    }
    return write_forms(to, "across", tuple(writers), writers)
