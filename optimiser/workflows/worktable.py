"""Start a worktable, read it, find a formula or an ingredient in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TypeVar

from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.worktable import Worktable
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.loading.folder import worktables_in
from optimiser.loading.places import SETTINGS
from optimiser.loading.reference import load_limits, load_substances, load_vocabulary
from optimiser.loading.trials import read_trials
from optimiser.loading.worktable import load_worktable
from optimiser.problems import Problem, did_you_mean
from optimiser.requests.sources import Sources

DEMO = "ingredient_data_demo"
MOST_TOLD = 12
SUFFIXES = (".csv", ".yaml", ".md")
Named = TypeVar("Named", Formula, Ingredient)


@dataclass(frozen=True, slots=True)
class Started:
    """A new worktable: where it is, and how many files were copied."""

    folder: Path
    files: int


def start_worktable(folder: Path) -> Started:
    """Copies the demo worktable into `folder`, which must not exist or be empty.

    Raises UsageError when something is there already, OptimiserError when it cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UsageError(f"{folder} is there already and not empty", "name a folder that does not exist yet")
    files = sorted(_files(resources.files(DEMO), Path()))
    try:
        for path, content in files:
            target = folder / path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
    except OSError as fault:
        what = f"{folder} cannot be written: {fault.strerror}"
        raise OptimiserError(what, "choose another folder") from fault
    return Started(folder, len(files))


def files_to_start_with() -> tuple[str, ...]:
    """The files of the demo worktable, as they will lie in the folder."""
    return tuple(path.as_posix() for path, _ in sorted(_files(resources.files(DEMO), Path())))


def _files(place: Traversable, below: Path) -> Iterator[tuple[Path, bytes]]:
    """Tables, formulas, briefs and the page about them; nothing else that lies about."""
    for entry in place.iterdir():
        if entry.is_dir():
            yield from _files(entry, below / entry.name)
        elif entry.name.endswith(SUFFIXES):
            yield below / entry.name, entry.read_bytes()


def open_worktable(folder: Path) -> Sources:
    """The worktable with all that requests draw on. Raises DataError with every problem found."""
    worktable, problems = load_worktable(folder)
    if problems or worktable is None:
        raise DataError(_elsewhere(problems, folder, "-w "))
    return Sources(worktable, load_vocabulary(), load_limits(), load_substances())


def home_of(file: Path) -> Path:
    """The worktable whose `proposals` or `formulas` hold the file; as typed where the path says so much."""
    named = file.parent.name in ("proposals", "formulas")
    return (file if named else file.resolve()).parent.parent


def problems_of(folder: Path) -> tuple[tuple[Problem, ...], Worktable | None]:
    """Every problem of the worktable and of its trials; the worktable where it can be read."""
    worktable, problems = load_worktable(folder)
    return (*_elsewhere(problems, folder, "optimiser check "), *read_trials(folder)[1]), worktable


def _elsewhere(problems: tuple[Problem, ...], folder: Path, how: str) -> tuple[Problem, ...]:
    """Where no folder was named and nothing of a worktable lies here: one problem, how to name the folder."""
    needed = (SETTINGS, "ingredients.csv")
    named = folder != Path() or {problem.file for problem in problems} != set(needed)
    if named or any((folder / name).exists() for name in (*needed, "formulas", "proposals")):
        return problems
    inside = worktables_in(folder)
    fix = f"name its folder: {how}{inside[0] if inside else 'FOLDER'}"
    more = "" if inside else "; optimiser new FOLDER makes one, a copy of the demo"
    return (Problem("this folder", None, "worktable", " and ".join(needed), "neither", fix + more),)


def find(word: str, among: Mapping[str, Named], what: str) -> Named:
    """By id, by name or by alias, in any case. Raises UsageError with the nearest name."""
    found = find_or_none(word, among)
    if found is not None:
        return found
    hint = did_you_mean(_stem(word), [*among, *(name for thing in among.values() for name in _names(thing))])
    raise UsageError(f'no {what} is called "{word}"', hint or f"there are: {told_of(among)}")


def find_or_none(word: str, among: Mapping[str, Named]) -> Named | None:
    """As `find`, but None where nothing is called so."""
    name = _stem(word)
    for written in (name, name.casefold()):
        if written in among:
            return among[written]
    for thing in among.values():
        if name.casefold() in {known.casefold() for known in _names(thing)}:
            return thing
    return None


def told_of(names: Iterable[str]) -> str:
    """The first names of the alphabet, with "…" where there are more."""
    ranked = sorted(names)
    return ", ".join(ranked[:MOST_TOLD]) + (", …" if len(ranked) > MOST_TOLD else "")


def _stem(word: str) -> str:
    return Path(word).stem if word.endswith((".yaml", ".yml")) else word


def _names(thing: Formula | Ingredient) -> tuple[str, ...]:
    return (thing.name, *thing.aliases) if isinstance(thing, Ingredient) else (thing.name,)
