"""Files that are only ever added to: two writers lose nothing, a killed writer leaves nothing half."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
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
    return add_to_all({path: more})[path]


def add_to_all(more: Mapping[Path, Callable[[str], str]]) -> dict[Path, str]:
    """The same for several files: all are held and all new text is made before the first is written.

    A file whose `more` adds nothing is left as it is. Where a file cannot be written, those before it stay
    written, and the OptimiserError names them.
    """
    with ExitStack() as stack:
        for path in sorted(more):
            stack.enter_context(held(path))
        before = {path: _text(path) for path in sorted(more)}
        added = {path: more[path](text) for path, text in before.items()}
        written: list[str] = []
        for path, text in before.items():
            if not added[path]:
                continue
            try:
                write_atomic(path, (text if text.endswith("\n") else text + "\n") + added[path])
            except OptimiserError as fault:
                if not written:
                    raise
                kept = f"{fault.what}; before it were written: {', '.join(written)}"
                raise OptimiserError(kept, fault.fix) from fault
            written.append(path.name)
        return added


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except OSError as fault:
        why = (fault.strerror or "the system refused").lower()
        raise OptimiserError(f"{path} cannot be read: {why}", "check its name and its rights") from fault
