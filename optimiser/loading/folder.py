"""The files of a worktable folder that are read, each with the name that messages use."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from optimiser.loading.findings import shown
from optimiser.loading.places import COSTS, FORMULAS, ID, SETTINGS, TABLE_ENDINGS, YAML_ENDINGS, files_in
from optimiser.problems import Problem, did_you_mean, visible

TABLES = (
    "ingredients",
    "flags",
    "properties",
    "composition",
    "process",
    "clashes",
    "shelf",
    "substances",
    "learned",
)


@dataclass(frozen=True, slots=True)
class Source:
    """A file and its path relative to the folder, with `/`."""

    path: Path
    name: str


@dataclass(frozen=True, slots=True)
class Folder:
    settings: Source | None
    tables: Mapping[str, Source]
    formulas: Mapping[str, Source]
    briefs: Mapping[str, Source]
    problems: tuple[Problem, ...] = ()
    readable: bool = True
    costs: Source | None = None
    responses: Mapping[str, Source] = field(default_factory=dict)

    @property
    def sources(self) -> tuple[Source, ...]:
        """Every file that is read, by its name."""
        found = [self.settings, self.costs, *self.tables.values(), *self.formulas.values()]
        found += [*self.briefs.values(), *self.responses.values()]
        return tuple(sorted((one for one in found if one is not None), key=lambda one: one.name))

    def contents(self) -> Mapping[str, bytes]:
        """The bytes of every file by its path below the folder; one that cannot be read is left out."""
        found: dict[str, bytes] = {}
        for source in self.sources:
            with suppress(OSError):
                found[_below(source)] = source.path.read_bytes()
        return MappingProxyType(found)

    def digest(self) -> str:
        """SHA-256 over the names and bytes of all files that an answer hangs on: all but the costs."""
        sources = [self.settings, *self.tables.values(), *self.formulas.values(), *self.briefs.values()]
        sources += self.responses.values()
        total = hashlib.sha256()
        for source in sorted((one for one in sources if one is not None), key=lambda one: one.name):
            try:
                data = source.path.read_bytes()
            except OSError:
                data = b""
            total.update(f"{source.name}\0{len(data)}\0".encode("utf-8", "surrogateescape") + data)
        return total.hexdigest()


def _below(source: Source) -> str:
    return f"{source.name.rpartition('/')[0]}/{source.path.name}".removeprefix("/")


def no_folder(folder: Path) -> Problem | None:
    """What is wrong where it is none, with the worktable beside it that was meant."""
    if folder.is_dir():
        return None
    found = "a file" if folder.exists() else "nothing"
    return Problem(str(folder), None, "folder", "a worktable folder", found, meant(folder))


def open_folder(folder: Path) -> Folder:
    """What there is to read in `folder`, and what is missing or stands twice."""
    nothing: Mapping[str, Source] = MappingProxyType({})
    problem = no_folder(folder)
    if problem is not None:
        return Folder(None, nothing, nothing, nothing, (problem,), readable=False)
    try:
        top = files_in(folder)
        tables, problems = _by_stem((one for one in top if one.stem in TABLES), TABLE_ENDINGS, "")
        formulas, more = _by_stem(files_in(folder / FORMULAS), TABLE_ENDINGS + YAML_ENDINGS, "formulas/")
        briefs, others = _by_stem(files_in(folder / "briefs"), YAML_ENDINGS, "briefs/")
        responses, odd = _by_stem(files_in(folder / "responses"), YAML_ENDINGS, "responses/")
        odd += [one for under in ("", "formulas", "briefs", "responses") for one in _no_files(folder, under)]
    except OSError as error:
        problem = Problem(
            str(folder), None, "folder", "a folder that can be read", error.strerror or "an error"
        )
        return Folder(None, nothing, nothing, nothing, (problem,), readable=False)
    settings = folder / SETTINGS
    problems += more + others + odd + _missing(folder, top)
    return Folder(
        Source(settings, SETTINGS) if settings.is_file() else None,
        tables,
        formulas,
        briefs,
        tuple(problems),
        costs=Source(folder / COSTS, COSTS) if (folder / COSTS).is_file() else None,
        responses=responses,
    )


def worktables_in(folder: Path) -> list[str]:
    """Names of the folders in `folder` that hold the settings of a worktable."""
    with suppress(OSError):
        return sorted(visible(one.name) for one in folder.iterdir() if (one / SETTINGS).is_file())
    return []


def meant(folder: Path) -> str:
    """The worktable beside the named place whose name is near, or what to give."""
    there = {name.casefold(): name for name in worktables_in(folder.parent)}
    near = did_you_mean(folder.name.casefold(), there)
    for plain, name in there.items():
        if f'"{plain}"' in near:
            return f'did you mean "{folder.with_name(name)}"?'
    such = f", such as {folder.with_name(min(there.values()))}" if there and folder.name else ""
    return f"give the folder that holds {SETTINGS}{such}"


def _no_files(folder: Path, under: str) -> Iterable[Problem]:
    """Folders that are named as a file that would be read. Of the table of ingredients `_missing` speaks."""
    place = folder / under
    read = {f"{name}{ending}" for name in TABLES[1:] for ending in TABLE_ENDINGS} | {COSTS}
    endings = TABLE_ENDINGS + YAML_ENDINGS if under == "formulas" else YAML_ENDINGS
    for path in sorted(place.iterdir()) if place.is_dir() else ():
        named = path.name in read if not under else path.suffix.casefold() in endings
        if named and not path.name.startswith(".") and path.is_dir():
            name = visible(path.relative_to(folder).as_posix())
            yield Problem(name, None, "file", "a file", "a folder of that name", "rename or remove it")


def _by_stem(
    files: Iterable[Path], endings: tuple[str, ...], under: str
) -> tuple[Mapping[str, Source], list[Problem]]:
    """Sources by stem; a stem that stands twice, or that is no id, is a problem."""
    found: dict[str, Source] = {}
    problems = []
    for path in files:
        name = visible(f"{under}{path.name}")
        if path.suffix.casefold() not in endings:
            continue
        if under and not ID.fullmatch(path.stem):
            problems.append(
                Problem(
                    name, None, "file", "a file name of a-z, 0-9 and hyphens", shown(path.stem), "rename it"
                )
            )
        elif path.stem in found:
            problems.append(
                Problem(
                    name,
                    None,
                    "file",
                    f"one file named {path.stem}",
                    f"{found[path.stem].name} too",
                    "remove or rename one",
                )
            )
        else:
            found[path.stem] = Source(path, name)
    return MappingProxyType(found), problems


def _missing(folder: Path, top: list[Path]) -> list[Problem]:
    """Needed files that are not there, and files whose name is nearly that of a table."""
    names = {one.name for one in top}
    stems = {one.stem for one in top if one.suffix.casefold() in TABLE_ENDINGS}
    absent = [stem for stem in TABLES if stem not in stems]
    problems = []
    near_to: set[str] = set()
    for path in top:
        if path.suffix.casefold() in TABLE_ENDINGS and path.stem not in TABLES:
            hint = did_you_mean(path.stem, absent)
            near_to.update(stem for stem in absent if f'"{stem}"' in hint)
            if hint:
                problems.append(
                    Problem(
                        visible(path.name), None, "file", "a table of the worktable", shown(path.stem), hint
                    )
                )
    if SETTINGS not in names:
        fix = "" if not (near := did_you_mean(SETTINGS, names)) else f"{near} rename it"
        problems.append(Problem(SETTINGS, None, "file", "the settings of the worktable", "no such file", fix))
    if "ingredients" in set(absent) - near_to:
        found = "a folder of that name" if (folder / "ingredients.csv").is_dir() else "no such file"
        fix = "put it into this folder, or start from a copy of the demo: optimiser new FOLDER"
        problems.append(Problem("ingredients.csv", None, "file", "the table of ingredients", found, fix))
    return problems
