"""The folder of a range: a proposal and a state for each formula, each written whole or not at all."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from optimiser import __version__
from optimiser.domain.across import FormulaAnswer
from optimiser.errors import OptimiserError
from optimiser.export.across_state import Kept, read_state, state_text
from optimiser.files.atomic import make_folder, write_atomic
from optimiser.loading.folder import open_folder
from optimiser.workflows.across_job import Done, Job
from optimiser.workflows.provenance import solvers

PROPOSALS, STATES = "proposals", "states"


@dataclass(frozen=True, slots=True)
class Store:
    """`places` gives each worktable (by its label) its folder below `to`."""

    to: Path
    places: dict[str, Path]
    keys: dict[Job, str]

    def kept(self, job: Job) -> FormulaAnswer | None:
        """The answer of an earlier run to the very same question, with its proposal untouched."""
        state, proposal = self._state(job), self._proposal(job)
        try:
            found = read_state(state.read_text(encoding="utf-8"))
            there = digest(proposal.read_bytes()) if found and found.proposal else ""
        except (OSError, UnicodeDecodeError):
            return None
        if found is None or found.key != self.keys[job] or found.proposal != there:
            return None
        return found.answer

    def keep(self, done: Done) -> FormulaAnswer:
        """Writes proposal, then state; the proposal of an older question goes. Raises OptimiserError."""
        state, proposal = self._state(done.job), self._proposal(done.job)
        answer, data = done.answer, done.proposal.encode()
        if answer.state == "not asked":
            state.unlink(missing_ok=True)
            return answer
        if data:
            write_atomic(proposal, data)
            answer = replace(answer, proposal=proposal.relative_to(self.to).as_posix())
        elif read_state_of(state) is not None:
            proposal.unlink(missing_ok=True)
        write_atomic(state, state_text(Kept(self.keys[done.job], digest(data) if data else "", answer)))
        return answer

    def _state(self, job: Job) -> Path:
        return self.places[job.label] / STATES / f"{job.formula}.json"

    def _proposal(self, job: Job) -> Path:
        return self.places[job.label] / PROPOSALS / f"{job.formula}.yaml"


def read_state_of(path: Path) -> Kept | None:
    try:
        return read_state(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError):
        return None


def digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def open_store(to: Path, labels: Iterable[str], jobs: Iterable[Job]) -> Store:
    """The folder with a place for each worktable: itself for one, a folder each for several."""
    listed = list(labels)
    places = {label: to / safe(label) if len(listed) > 1 else to for label in listed}
    asked = list(jobs)
    for place in sorted({places[job.label] for job in asked}):
        for name in (PROPOSALS, STATES):
            make_folder(place / name)
            if (place / name).is_symlink():
                raise OptimiserError(
                    f"{place / name} leads to another folder", "choose another folder for --to"
                )
    return Store(to, places, keys_of(asked))


def keys_of(jobs: Iterable[Job]) -> dict[Job, str]:
    """What each answer hangs on, as a digest: the worktable's files but for the other formulas, the question,
    the versions."""
    tables: dict[str, tuple[str, dict[str, str]]] = {}
    found = {}
    for job in jobs:
        if job.folder not in tables:
            opened = open_folder(Path(job.folder))
            own = {name: digest(source.path.read_bytes()) for name, source in opened.formulas.items()}
            tables[job.folder] = replace(opened, formulas={}).digest(), own
        shared, formulas = tables[job.folder]
        wishes = job.wishes
        asked = [wishes.said, wishes.prices, str(wishes.on), wishes.only_new, wishes.narrowed]
        told = [__version__, solvers(), job.label, job.formula, shared, formulas[job.formula], asked]
        found[job] = digest(json.dumps(told, sort_keys=True, default=str).encode())
    return found


def safe(label: str) -> str:
    """A name for a folder of ours, whatever the worktable is called; one label, one name."""
    plain = re.sub(r"[^a-z0-9]+", "-", label.casefold()).strip("-")[:60]
    return (
        plain
        if plain == label
        else f"{plain or 'worktable'}-{digest(label.encode('utf-8', 'surrogateescape'))[:6]}"
    )
