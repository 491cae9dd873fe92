"""One writer at a time: a lock file beside what is written, gone again once nobody holds it."""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock

POLL_S = 0.02
NO_LOCKS = {errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOLCK}
"""What a file system without such locks answers."""


@contextmanager
def locked(place: Path, wait_s: float) -> Iterator[None]:
    """Holds the lock; it is let go when its holder ends or dies.

    Its holder alone takes the file away, and whoever gets a lock looks whether the file is still the one
    that lies there: so two never hold it at once. Raises TimeoutError after `wait_s`, OSError where the file
    cannot be made.
    """
    handle = _taken(place, wait_s)
    if handle is None:
        with FileLock(place, timeout=wait_s):
            yield
        return
    try:
        yield
    finally:
        with suppress(OSError):
            if _lies_there(handle, place):
                place.unlink()
        os.close(handle)


def _taken(place: Path, wait_s: float) -> int | None:
    """The open file that is locked; None where the system or the file system has no such locks."""
    if sys.platform == "win32":
        return None
    import fcntl

    end = time.monotonic() + wait_s
    while True:
        handle = os.open(place, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o644)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if _lies_there(handle, place):
                return handle
        except BlockingIOError:
            if time.monotonic() > end:
                os.close(handle)
                raise TimeoutError(errno.ETIMEDOUT, "another writer holds it") from None
            time.sleep(POLL_S)
        except OSError as fault:
            os.close(handle)
            if fault.errno in NO_LOCKS:
                return None
            raise
        os.close(handle)


def _lies_there(handle: int, place: Path) -> bool:
    """Whether the open file is the one at the place: its last holder may have taken it away."""
    try:
        there = place.lstat()
    except FileNotFoundError:
        return False
    return os.path.samestat(os.fstat(handle), there)
