"""One thing written in several forms, one file each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from optimiser.errors import UsageError
from optimiser.files.atomic import make_folder, write_atomic


def write_forms(
    to: Path, stem: str, forms: tuple[str, ...], writers: Mapping[str, Callable[[], str | bytes]]
) -> tuple[Path, ...]:
    """`STEM.FORM` below `to` for each form asked, in that order; the folder is made where it is missing.

    Raises UsageError for a form that nobody writes, before anything is written; OptimiserError.
    """
    unknown = [name for name in forms if name not in writers]
    if unknown:
        raise UsageError(f'no format is called "{unknown[0]}"', f"use {', '.join(writers)}")
    make_folder(to)
    written = []
    for name in forms:
        path = to / f"{stem}.{name}"
        write_atomic(path, writers[name]())
        written.append(path)
    return tuple(written)
