"""Files that are only ever added to: two writers lose nothing, a killed writer leaves nothing half."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from optimiser.errors import OptimiserError
from optimiser.files.atomic import write_atomic

WAIT_S = 20.0
"""How long a writer waits for another before it gives up; an entry is written in milliseconds."""


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Holds the file for one writer: a lock beside it, let go when the writer ends or dies.

    Raises OptimiserError when another writer holds it for too long, or the lock cannot be made.
    """
    lock = FileLock(path.parent / f".lock-{path.stem}", timeout=WAIT_S)
    try:
        lock.acquire()
    except Timeout as fault:
        raise OptimiserError(
            f"{path} is being written by another program", "wait for it to end, then try again"
        ) from fault
    except OSError as fault:
        why = (fault.strerror or "the system refused").lower()
        raise OptimiserError(f"{path} cannot be locked: {why}", "check the folder and its rights") from fault
    try:
        yield
    finally:
        lock.release()


def add_to(path: Path, more: Callable[[str], str]) -> str:
    """Adds to the end of the file what `more` makes of its text; what stood there stays, byte for byte.

    Nothing is written when `more` raises. Returns what was added. Raises OptimiserError.
    """
    with held(path):
        try:
            before = path.read_text(encoding="utf-8")
        except OSError as fault:
            why = (fault.strerror or "the system refused").lower()
            raise OptimiserError(f"{path} cannot be read: {why}", "check its name and its rights") from fault
        added = more(before)
        joined = before if before.endswith("\n") else before + "\n"
        write_atomic(path, joined + added)
        return added
