"""A folder at a glance: the names that stand in its files, before anything in them is read or checked."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import yaml

SETTINGS = "worktable.yaml"
ENDINGS = (".yaml", ".yml")
MOST_NAMED = 300
"""Formulas; of more, only how many there are."""
LARGEST = 1_000_000
"""Bytes of a file that is looked into."""


@dataclass(frozen=True, slots=True)
class Glance:
    """Name of the workshop; `(id, name)` of each formula whose file says a name; files among the formulas."""

    name: str
    formulas: tuple[tuple[str, str], ...]
    files: int


def glance_at(folder: Path) -> Glance:
    """Never fails: what cannot be read has no name here and is told when the folder is read."""
    files = sorted(_formulas(folder))
    looked_into = files if len(files) <= MOST_NAMED else []
    named = ((path.stem, name_in(path)) for path in looked_into)
    formulas = sorted(((one, name) for one, name in named if name), key=lambda one: one[1].casefold())
    return Glance(name_in(folder / SETTINGS) or folder.name, tuple(formulas), len(files))


def name_in(path: Path) -> str:
    """What a YAML file says under `name` at its top; nothing where it does not."""
    try:
        if not path.is_file() or path.stat().st_size > LARGEST:
            return ""
        return next(_names(path.read_text("utf-8-sig")), "")
    except (OSError, ValueError, yaml.YAMLError):
        return ""


def _names(text: str) -> Iterator[str]:
    """The scalar beside the key `name` of the top mapping; nothing inside others counts."""
    depth, key, awaited = 0, "", True
    for event in yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            continue
        if isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        elif not isinstance(event, yaml.NodeEvent):
            continue
        if depth != 1:
            continue
        said = event.value if isinstance(event, yaml.ScalarEvent) else ""
        if not awaited and key == "name":
            yield said
        key, awaited = (said, False) if awaited else ("", True)


def _formulas(folder: Path) -> Iterator[Path]:
    with suppress(OSError):
        for path in (folder / "formulas").iterdir():
            if path.suffix.casefold() in ENDINGS and not path.name.startswith(".") and path.is_file():
                yield path
