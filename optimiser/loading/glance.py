"""A folder at a glance: the names that stand in its files, before anything in them is read or checked."""

from __future__ import annotations

import codecs
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import yaml

from optimiser.loading.places import (
    FORMULAS,
    ID,
    LONGEST_ID,
    SETTINGS,
    TABLE_ENDINGS,
    YAML_ENDINGS,
    files_in,
)
from optimiser.problems import LONGEST_SHOWN, visible

ENDINGS = (*TABLE_ENDINGS, *YAML_ENDINGS)
HEAD = 16_000
"""Bytes of a file that are looked into."""
MOST_READ = 400_000
"""Bytes of all files together; what lies behind them has no name at a glance."""


@dataclass(frozen=True, slots=True)
class Glance:
    """Name of the workshop; `(id, name)` of each formula whose file says a name; files among the formulas."""

    name: str
    formulas: tuple[tuple[str, str], ...]
    files: int


def glance_at(folder: Path) -> Glance:
    """Never fails: what cannot be read has no name here and is told when the folder is read."""
    try:
        files = [one for one in files_in(folder / FORMULAS) if one.suffix.casefold() in ENDINGS]
    except OSError:
        files = []
    named = dict(_named(files))
    formulas = tuple(sorted(named.items(), key=lambda one: one[1].casefold()))
    return Glance(name_in(folder / SETTINGS) or visible(folder.name, LONGEST_SHOWN), formulas, len(files))


def _named(files: Sequence[Path]) -> Iterator[tuple[str, str]]:
    left = MOST_READ
    for path in files:
        plain = len(path.stem) <= LONGEST_ID and ID.fullmatch(path.stem)
        if not plain or path.suffix.casefold() not in YAML_ENDINGS:
            continue
        head = _head(path)
        left -= len(head)
        if left < 0:
            return
        name = _name(head)
        if name:
            yield path.stem, name


def name_in(path: Path) -> str:
    """What a YAML file says under `name` at its top; nothing where it does not."""
    return _name(_head(path))


def _head(path: Path) -> bytes:
    try:
        if not path.is_file():
            return b""
        with path.open("rb") as file:
            return file.read(HEAD)
    except OSError:
        return b""


def _name(head: bytes) -> str:
    try:
        text = codecs.getincrementaldecoder("utf-8-sig")().decode(head)  # the last letter may be cut
        return visible(next(_names(text), ""), LONGEST_SHOWN)
    except (ValueError, yaml.YAMLError):
        return ""


def _names(text: str) -> Iterator[str]:
    """The scalar beside the key `name` of the top mapping; nothing inside others counts."""
    depth, key, awaited = 0, "", True
    for event in yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
        if isinstance(event, yaml.DocumentEndEvent):
            return
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
