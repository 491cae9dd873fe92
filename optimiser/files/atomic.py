"""Files written whole or not at all."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path

from optimiser.errors import OptimiserError


def write_atomic(path: Path, content: str | bytes) -> None:
    """Puts `content` (text as UTF-8, line ends as they are) in place of `path` in one move.

    The file is written beside its place, flushed to the disk and moved; when anything fails, what was there
    stays and nothing is left behind. A file that is there keeps its rights.
    Raises OptimiserError with the path.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        temporary = _written_beside(path, data)
        try:
            temporary.replace(path)
        except OSError:
            temporary.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise _cannot_write(path, error) from error
    _flush_folder(path.parent)


def write_new(path: Path, content: str | bytes, *, force: bool = False) -> None:
    """Like `write_atomic`, but raises OptimiserError when `path` exists, unless `force`."""
    if force:
        write_atomic(path, content)
        return
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        temporary = _written_beside(path, data)
        try:
            os.link(temporary, path)
        finally:
            temporary.unlink(missing_ok=True)
    except FileExistsError as error:
        raise OptimiserError(
            f"{path} exists already", "choose another name, or ask to write over it"
        ) from error
    except OSError as error:
        if not _links_are_the_trouble(path):
            raise _cannot_write(path, error) from error
        _write_exclusive(path, data)
    _flush_folder(path.parent)


def make_folder(folder: Path) -> None:
    """Makes a folder and those above it where they are missing; raises OptimiserError."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _cannot_write(folder, error) from error


def _links_are_the_trouble(path: Path) -> bool:
    """Whether the folder can be written to, so that only the file system's lack of links stood in the way."""
    return path.parent.is_dir() and os.access(path.parent, os.W_OK) and not path.exists()


def _write_exclusive(path: Path, data: bytes) -> None:
    try:
        with path.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except FileExistsError as error:
        raise OptimiserError(
            f"{path} exists already", "choose another name, or ask to write over it"
        ) from error
    except OSError as error:
        with suppress(OSError):
            path.unlink(missing_ok=True)
        raise _cannot_write(path, error) from error


def _written_beside(path: Path, data: bytes) -> Path:
    """A temporary file in the same folder that holds `data`, on the disk; nothing is left when that fails."""
    if path.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    temporary = path.parent / f".writing-{secrets.token_hex(8)}"
    try:
        with temporary.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            temporary.chmod(path.stat().st_mode & 0o777)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _flush_folder(folder: Path) -> None:
    """Asks the disk to keep the move too; not every system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _cannot_write(path: Path, error: OSError) -> OptimiserError:
    why = (error.strerror or "the system refused").lower()
    return OptimiserError(
        f"{path} cannot be written: {why}", "check the folder, its rights and the room on the disk"
    )
