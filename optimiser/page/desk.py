"""The folder as the page sees it: read when its files changed, and only then."""

from __future__ import annotations

import hashlib
import os
import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimiser.domain.trials import Trial
from optimiser.errors import DataError
from optimiser.loading.folder import open_folder
from optimiser.loading.trials import read_trials
from optimiser.problems import Problem, in_order
from optimiser.requests.sources import Sources
from optimiser.units.numbers import DecimalMark
from optimiser.workflows.worktable import open_worktable

if TYPE_CHECKING:
    from optimiser.domain.outcome import Proposal
    from optimiser.domain.request import Request

MOST_READINGS = 4
"""Times the folder is read in a row while its files go on changing under the reading."""
MOST_KEPT = 6
"""States of the folder that are kept in any case, the newest."""
MOST_BYTES = 8_000_000
"""Of files of older states, kept while a request is worked on them; what is made of them takes more."""
PARTS = ("", "formulas", "briefs", "responses")
HEAD = 4000
"""Bytes of a proposal in which the id of its formula stands."""
BASE = re.compile(rb"^formula:[ \t]*[\"']?([a-z0-9-]+)", re.MULTILINE)
SUFFIXES = (".csv", ".yaml", ".yml", ".xlsx", ".tsv")


def stamp_of(folder: Path) -> int:
    """A number that changes when a file of the worktable does."""
    return int.from_bytes(hashlib.blake2b(repr(tuple(_marks(folder))).encode(), digest_size=8).digest())


def _marks(folder: Path) -> Iterator[tuple[str, int, int]]:
    for part in PARTS:
        try:
            with os.scandir(folder / part) as listed:
                entries = sorted(listed, key=lambda one: one.name)
        except OSError:  # none there, or none that can be opened: reading tells of it
            continue
        for entry in entries:
            if entry.name.lower().endswith(SUFFIXES) and not entry.name.startswith("."):
                with suppress(OSError):  # an editor puts files in place of others
                    about = entry.stat()
                    yield f"{part}/{entry.name}", about.st_mtime_ns, about.st_size


@dataclass(frozen=True, slots=True)
class Kept:
    """A proposal that was kept: its name, the id of its formula as its file says it, the day of the file."""

    name: str
    formula: str
    day: date


@dataclass(frozen=True, slots=True)
class Seen:
    """The folder at one moment: its sources, or the problems that keep it from being read, and its files.

    `mark` is the same for the same files. `stands` keeps formulas as they are, judged; `news` what changed
    since, by the stamp of the later state and the formula it is told for.
    """

    stamp: int
    sources: Sources | None
    problems: tuple[Problem, ...] = ()
    files: Mapping[str, bytes] = field(default_factory=dict)
    mark: str = ""
    stands: dict[str, tuple[Proposal, Request]] = field(default_factory=dict)
    news: dict[tuple[int, str], Any] = field(default_factory=dict)

    @property
    def weight(self) -> int:
        """Bytes of its files."""
        return sum(map(len, self.files.values()))

    def needed(self) -> Sources:
        """Raises DataError with every problem of the folder."""
        if self.sources is None:
            raise DataError(self.problems)
        return self.sources


class Desk:
    """Reads the folder for all requests. Safe to call from several threads.

    `worked_on` gives the stamps of states that requests are worked on, that of the latest request last.
    """

    def __init__(self, folder: Path, worked_on: Callable[[], Sequence[int]] = tuple) -> None:
        self.folder = folder
        self.worked_on = worked_on
        self._lock = threading.Lock()
        self._seen: OrderedDict[int, Seen] = OrderedDict()

    def look(self) -> Seen:
        """The folder as it is, read where it is not held yet."""
        stamp = stamp_of(self.folder)
        with self._lock:
            if stamp not in self._seen:
                found = self._read_still(stamp)
                stamp = found.stamp
                self._seen[stamp] = found
            self._seen.move_to_end(stamp)
            if len(self._seen) > MOST_KEPT:
                self._let_go()
            return self._seen[stamp]

    def _let_go(self) -> None:
        """Of older states than the newest few, those that no request is worked on, and what is too much."""
        older = list(self._seen)[:-MOST_KEPT]
        latest = {stamp: place for place, stamp in enumerate(self.worked_on())}
        room = MOST_BYTES
        for stamp in sorted(older, key=lambda one: -latest.get(one, -1)):
            room -= self._seen[stamp].weight
            if stamp not in latest or room < 0:
                del self._seen[stamp]

    def _read_still(self, stamp: int) -> Seen:
        """Read while nothing changes.

        Of files that never rest, what was read last, under the stamp before it: the next look reads anew.
        """
        for _ in range(MOST_READINGS):
            found = self._seen.get(stamp) or _read(self.folder, stamp)
            after = stamp_of(self.folder)
            if after == stamp:
                break
            stamp = after
        return found

    @property
    def holds(self) -> bool:
        """Whether the folder was read."""
        return bool(self._seen)

    def seen(self, stamp: int) -> Seen | None:
        """The folder as it was, where that is still held."""
        with self._lock:
            return self._seen.get(stamp)

    @property
    def decimal(self) -> DecimalMark:
        """The decimal mark of the folder as it could last be read."""
        now = self.look()
        with self._lock:
            last = (one.sources for one in (now, *reversed(self._seen.values())) if one.sources)
            sources = next(last, None)
        return sources.worktable.settings.decimal if sources else "point"

    @property
    def empty(self) -> bool:
        """Whether nothing lies in the folder, so that it can be started."""
        try:
            return next(self.folder.iterdir(), None) is None
        except OSError:  # it is gone, or closed to us: reading tells of it
            return False

    def sources(self) -> Sources:
        """Raises DataError with every problem of the folder."""
        return self.look().needed()

    def stands(self, formula: str, seen: Seen | None = None) -> tuple[Proposal, Request]:
        """The formula as it is (or was, in the folder as it was seen), judged; kept for that state."""
        from optimiser.workflows.propose import as_it_stands

        seen = seen or self.look()
        known = seen.stands.get(formula)
        if known is None:
            sources = seen.needed()
            known = seen.stands[formula] = as_it_stands(sources, sources.worktable.formulas[formula])
        return known

    def proposals(self) -> tuple[str, ...]:
        """Names of saved proposals, the newest first."""
        place = self.folder / "proposals"
        found = [p for p in place.glob("*.yaml") if p.is_file() and not p.name.startswith(".")]
        return tuple(p.stem for p in sorted(found, key=lambda p: (-p.stat().st_mtime_ns, p.name)))

    def kept(self) -> tuple[Kept, ...]:
        """Saved proposals, the newest first; of each file only the head is read."""
        place = self.folder / "proposals"
        found = []
        for name in self.proposals():
            with suppress(OSError), (place / f"{name}.yaml").open("rb") as file:
                written = datetime.fromtimestamp(os.fstat(file.fileno()).st_mtime).astimezone().date()
                formula = BASE.search(file.read(HEAD))
                found.append(Kept(name, formula[1].decode() if formula else "", written))
        return tuple(found)

    def trials(self) -> tuple[tuple[Trial, ...], tuple[Problem, ...]]:
        """Trials in their order; the problems where their files cannot be read."""
        trials, problems = read_trials(self.folder)
        return (() if problems else trials), problems


def mark_of(paths: Iterable[Path]) -> str:
    """Another one for each state of these files; of one that is not there, that it is not."""
    marks = []
    for path in paths:
        with suppress(FileNotFoundError):  # taken away since it was listed
            about = path.stat()
            marks.append((path.name, about.st_mtime_ns, about.st_size))
    return hashlib.blake2b(repr(marks).encode(), digest_size=8).hexdigest()


def _read(folder: Path, stamp: int) -> Seen:
    files = open_folder(folder).contents()
    mark = _mark(files)
    try:
        return Seen(stamp, open_worktable(folder), (), files, mark)
    except DataError as fault:
        told = in_order(p for p in fault.problems if isinstance(p, Problem))
        return Seen(stamp, None, told, files, mark)


def _mark(files: Mapping[str, bytes]) -> str:
    digest = hashlib.blake2b(digest_size=16)
    for name, data in sorted(files.items()):
        digest.update(f"{name}\0{len(data)}\0".encode("utf-8", "surrogateescape") + data)
    return digest.hexdigest()
