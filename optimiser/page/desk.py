"""The folder as the page sees it: read when its files changed, and only then."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from optimiser.domain.trials import Trial
from optimiser.errors import DataError
from optimiser.loading.trials import read_trials
from optimiser.problems import Problem, in_order
from optimiser.requests.draft import Sources
from optimiser.workflows.worktable import open_worktable

if TYPE_CHECKING:
    from optimiser.domain.outcome import Proposal
    from optimiser.domain.request import Request

PARTS = ("", "formulas", "briefs", "responses")
SUFFIXES = (".csv", ".yaml", ".yml", ".xlsx", ".tsv")


def stamp_of(folder: Path) -> int:
    """A number that changes when a file of the worktable does."""
    return int.from_bytes(hashlib.blake2b(repr(tuple(_marks(folder))).encode(), digest_size=8).digest())


def _marks(folder: Path) -> Iterator[tuple[str, int, int]]:
    for part in PARTS:
        place = folder / part
        if not place.is_dir():
            continue
        for path in sorted(place.iterdir()):
            if path.suffix.lower() in SUFFIXES and not path.name.startswith("."):
                with suppress(FileNotFoundError):  # an editor puts files in place of others
                    about = path.stat()
                    yield str(path.relative_to(folder)), about.st_mtime_ns, about.st_size


@dataclass(frozen=True, slots=True)
class Seen:
    """The folder at one moment: its sources, or the problems that keep it from being read."""

    stamp: int
    sources: Sources | None
    problems: tuple[Problem, ...] = ()


class Desk:
    """Reads the folder for all requests. Safe to call from several threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._seen: Seen | None = None
        self._stands: dict[str, tuple[Proposal, Request]] = {}

    def look(self) -> Seen:
        stamp = stamp_of(self.folder)
        with self._lock:
            if self._seen is None or self._seen.stamp != stamp:
                self._stands = {}
                self._seen = _read(self.folder, stamp)
            return self._seen

    @property
    def empty(self) -> bool:
        """Whether nothing lies in the folder, so that it can be started."""
        return next(self.folder.iterdir(), None) is None

    def sources(self) -> Sources:
        """Raises DataError with every problem of the folder."""
        seen = self.look()
        if seen.sources is None:
            raise DataError(seen.problems)
        return seen.sources

    def stands(self, formula: str) -> tuple[Proposal, Request]:
        """The formula as it is, judged; kept until a file changes."""
        from optimiser.workflows.propose import as_it_stands

        sources = self.sources()
        known = self._stands.get(formula)
        if known is None:
            known = as_it_stands(sources, sources.worktable.formulas[formula])
            self._stands[formula] = known
        return known

    def proposals(self) -> tuple[str, ...]:
        """Names of saved proposals, the newest first."""
        place = self.folder / "proposals"
        found = [p for p in place.glob("*.yaml") if p.is_file() and not p.name.startswith(".")]
        return tuple(p.stem for p in sorted(found, key=lambda p: (-p.stat().st_mtime_ns, p.name)))

    def trials(self) -> tuple[tuple[Trial, ...], tuple[Problem, ...]]:
        """Trials in their order; the problems where their files cannot be read."""
        trials, problems = read_trials(self.folder)
        return (() if problems else trials), problems


def _read(folder: Path, stamp: int) -> Seen:
    try:
        return Seen(stamp, open_worktable(folder))
    except DataError as fault:
        return Seen(stamp, None, in_order(p for p in fault.problems if isinstance(p, Problem)))
