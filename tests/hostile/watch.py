"""What a reader may not do while it is attacked: take long, take much memory, write or reach outside."""

from __future__ import annotations

import os
import resource
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

SECONDS = 5
"""Of processor time for one file: a busy machine makes no reader slow."""
MEMORY = 1 << 30
"""Bytes beyond what the process had when it began."""
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CHANGES = {"os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.link", "os.symlink", "os.truncate"}
REACHES = {"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "socket.connect"}


class OutsideError(BaseException):
    """A file was written, or something reached, outside the folder."""


class SlowError(BaseException):
    """One file took more than the seconds allowed."""


_allowed: list[Path] = []
_hooked: list[bool] = []


def _hook(event: str, given: tuple[Any, ...]) -> None:
    if not _allowed:
        return
    if event in REACHES:
        raise OutsideError(f"{event} {given!r}")
    if event == "open" and (given[2] or 0) & WRITES:
        _within(event, given[0])
    elif event in CHANGES:
        two = event in ("os.rename", "os.link")
        for path in given[:2] if two else given[:1]:
            _within(event, path, given[-1] if isinstance(given[-1], int) and event != "os.truncate" else -1)


def _within(event: str, path: object, folder: int = -1) -> None:
    """`folder` is the handle of an open folder that the path is told from; -1 is where the process stands."""
    if isinstance(path, int):
        return
    start = Path(f"/proc/self/fd/{folder}").resolve() if folder >= 0 else Path()
    full = Path(os.path.realpath(start / os.fsdecode(path)))  # type: ignore[arg-type]
    if not any(full.is_relative_to(place) for place in _allowed):
        raise OutsideError(f"{event} {full}")


def _late(_signal: int, _frame: object) -> None:
    raise SlowError(f"more than {SECONDS} s")


@contextmanager
def watched(place: Path, seconds: float = SECONDS) -> Iterator[None]:
    """Nothing outside `place` is written or reached, and no more processor time is taken, or it raises."""
    if not _hooked:
        sys.addaudithook(_hook)
        _hooked.append(True)
    before = signal.signal(signal.SIGPROF, _late)
    _allowed.extend([place.resolve(), Path("/dev/null")])
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
        _allowed.clear()


def bound_memory() -> None:
    """No more than `MEMORY` beyond what this process has now; past that it meets a MemoryError."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    most = pages * resource.getpagesize() + MEMORY
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
