"""A writer killed outright at any line of what it does, a full disk, a folder that may not be written to.

What stood before stands, or what was to be written stands whole; what was told to be written is there. The
ordinary run kills at some lines of every writer, the thorough one at every line.
"""

from __future__ import annotations

import os
import resource
import shutil
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from optimiser.domain.trials import Entry
from optimiser.errors import OptimiserError
from optimiser.files import atomic, journal
from optimiser.files.atomic import write_atomic, write_new
from optimiser.files.journal import add_to, add_to_all
from optimiser.loading.batches import read_batch
from optimiser.loading.trials import read_trial
from optimiser.workflows.batches import add_entry
from optimiser.workflows.trials import record
from tests.effort import THOROUGH
from tests.hostile.readers import BATCH, TRIAL

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
DAY = date(2026, 11, 23)
OLD, NEW = "old\n" * 2000, "new, and longer\n" * 3000
AT_MOST = 400
EACH = 1 if THOROUGH else 6
"""Every so many lines a writer is killed."""
WRITING = {atomic.__file__, journal.__file__, shutil.__file__, os.__file__}


@dataclass(frozen=True, slots=True)
class Writer:
    """`act` writes in a folder made ready by `ready`; `whole` says that nothing there is lost or half.

    `done` is told whether the writer had come to its end before the kill.
    """

    name: str
    ready: Callable[[Path], None]
    act: Callable[[Path], object]
    whole: Callable[[Path, bool], None]


def _put(*files: tuple[str, str]) -> Callable[[Path], None]:
    def ready(folder: Path) -> None:
        for name, text in files:
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(text, encoding="utf-8")

    return ready


def _old_or_new(name: str, old: str | None) -> Callable[[Path, bool], None]:
    def whole(folder: Path, done: bool) -> None:
        path = folder / name
        text = path.read_text(encoding="utf-8") if path.exists() else None
        assert text in ((NEW,) if done else (old, NEW))

    return whole


def _noted(text: str) -> Callable[[str], str]:
    return lambda _before: text


def _both(folder: Path, done: bool) -> None:
    """Several files are written one after another: each is whole by itself."""
    for name in ("a.txt", "b.txt"):
        text = (folder / name).read_text(encoding="utf-8")
        assert text in ((OLD + NEW,) if done else (OLD, OLD + NEW))


def _batch(folder: Path, done: bool) -> None:
    batch, problems = read_batch(folder / "batches" / "2611-01.yaml")
    assert problems == ()
    assert batch is not None
    assert [entry.number for entry in batch.happened] == list(range(1, len(batch.happened) + 1))
    assert len(batch.happened) in ((3,) if done else (2, 3))


def _trial(folder: Path, done: bool) -> None:
    trial, problems = read_trial(folder / "trials" / "serum-1.yaml")
    assert problems == ()
    assert trial is not None
    assert len(trial.entries) in ((4,) if done else (2, 4))


def _both_added(folder: Path) -> object:
    return add_to_all({folder / "a.txt": _noted(NEW), folder / "b.txt": _noted(NEW)})


def _recorded(folder: Path) -> object:
    first = Entry(0, DAY, "remark", text="after the kill")
    return record(folder, "serum-1", [first, replace(first, text="and once more")])


WRITERS = (
    Writer(
        "a file in the place of another",
        _put(("a.txt", OLD)),
        lambda folder: write_atomic(folder / "a.txt", NEW),
        _old_or_new("a.txt", OLD),
    ),
    Writer(
        "a new file",
        _put(),
        lambda folder: write_new(folder / "a.txt", NEW),
        _old_or_new("a.txt", None),
    ),
    Writer(
        "more at the end of several files",
        _put(("a.txt", OLD), ("b.txt", OLD)),
        _both_added,
        _both,
    ),
    Writer(
        "an entry of a batch",
        _put(("batches/2611-01.yaml", BATCH)),
        lambda folder: add_entry(folder, "2611-01", DAY, "noted", kind="remark", text="after"),
        _batch,
    ),
    Writer("readings of a trial", _put(("trials/serum-1.yaml", TRIAL)), _recorded, _trial),
)


def killed_at(act: Callable[[], object], line: int) -> bool:
    """Whether a process of its own was killed as it came to the line of that number in what it writes by."""
    process = os.fork()
    if not process:
        left = line

        def trace(frame: FrameType, event: str, _what: Any) -> Any:
            nonlocal left
            if frame.f_code.co_filename not in WRITING:
                return None
            if event == "line":
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
            return trace

        sys.settrace(trace)
        with suppress(BaseException):
            act()
            os._exit(0)
        os._exit(1)
    _, status = os.waitpid(process, 0)
    if os.WIFSIGNALED(status):
        assert os.WTERMSIG(status) == signal.SIGKILL
        return True
    assert os.WEXITSTATUS(status) == 0
    return False


@pytest.mark.parametrize("writer", WRITERS, ids=lambda one: one.name.replace(" ", "-"))
def test_a_writer_killed_at_any_line(writer: Writer, tmp_path: Path, record_property: Any) -> None:
    """Every line is a moment to die at; afterwards the next writer finds nothing in its way."""
    kills = 0
    for line in range(1, AT_MOST, EACH):
        folder = tmp_path / str(line)
        folder.mkdir()
        writer.ready(folder)
        killed = killed_at(partial(writer.act, folder), line)
        writer.whole(folder, not killed)
        kills += killed
        if not killed:
            break
        left = [one for one in folder.rglob("*") if one.name.startswith(".writing-")]
        assert len(left) <= 1
        with suppress(OptimiserError):
            writer.act(folder)
        for path in folder.rglob("*.txt"):
            assert path.read_text(encoding="utf-8").endswith(NEW)
        shutil.rmtree(folder)
    assert not killed
    assert kills >= 3
    record_property("kills", kills)
    sys.stdout.write(f"{kills} kills: {writer.name}\n")


def in_a_process(act: Callable[[], object]) -> str:
    """What a process of its own says of an act: `done`, or the fault in the tool's own words."""
    read, write = os.pipe()
    process = os.fork()
    if not process:
        said = "something else"
        try:
            act()
            said = "done"
        except OptimiserError as fault:
            said = str(fault)
        except BaseException as error:
            said = f"stopped: {error!r}"
        os.write(write, said.encode())
        os._exit(0)
    os.close(write)
    os.waitpid(process, 0)
    with os.fdopen(read, "rb") as opened:
        return opened.read().decode()


def on_a_full_disk(act: Callable[[], object]) -> None:
    """No file may grow past a kilobyte: writing fails in the middle, as on a disk without room."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (1024, 1024))
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    act()


def as_a_guest(act: Callable[[], object]) -> None:
    """Rights of the folder count for nobody but a guest where the tests run as root."""
    if os.getuid() == 0:
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
    act()


LARGER = tuple(
    replace(one, ready=_put(("batches/2611-01.yaml", BATCH + "# old\n" * 400))) if "batch" in one.name
    else replace(one, ready=_put(("trials/serum-1.yaml", TRIAL + "# old\n" * 400))) if "trial" in one.name
    else one
    for one in WRITERS
)  # fmt: skip
"""With files that are larger than what a full disk lets through."""


def stamps(folder: Path) -> dict[str, bytes]:
    files = (one for one in folder.rglob("*") if one.is_file() and not one.name.startswith(".lock"))
    return {str(one.relative_to(folder)): one.read_bytes() for one in files}


@pytest.mark.parametrize("writer", LARGER, ids=lambda one: one.name.replace(" ", "-"))
def test_a_full_disk_takes_nothing_and_says_so(writer: Writer, tmp_path: Path) -> None:
    writer.ready(tmp_path)
    before = stamps(tmp_path)
    said = in_a_process(lambda: on_a_full_disk(partial(writer.act, tmp_path)))
    assert "cannot be written" in said
    assert "room on the disk" in said
    assert stamps(tmp_path) == before


@pytest.mark.parametrize("writer", WRITERS, ids=lambda one: one.name.replace(" ", "-"))
def test_a_folder_that_may_only_be_read(writer: Writer, tmp_path: Path) -> None:
    for place in (tmp_path, *tmp_path.parents):
        if os.getuid() == 0 and place.stat().st_uid == 0 and place != Path("/"):
            with suppress(OSError):
                place.chmod(place.stat().st_mode | 0o055)
    writer.ready(tmp_path)
    before = stamps(tmp_path)
    folders = [tmp_path, *(one for one in tmp_path.rglob("*") if one.is_dir())]
    for one in folders:
        one.chmod(0o555)
    try:
        said = in_a_process(lambda: as_a_guest(partial(writer.act, tmp_path)))
    finally:
        for one in folders:
            one.chmod(0o755)
    assert "cannot be" in said
    assert "rights" in said
    assert stamps(tmp_path) == before


def test_two_writers_lose_nothing(tmp_path: Path) -> None:
    """Of two new files of one name one wins; of two that add, all that both added is there."""
    path, many = tmp_path / "log.txt", 15
    path.write_text("begin\n", encoding="utf-8")

    def adding(name: str) -> None:
        for number in range(many):
            add_to(path, _noted(f"{name} {number}\n"))

    def racing(name: str) -> None:
        for number in range(many):
            with suppress(OptimiserError):
                write_new(tmp_path / f"new-{number}", name * 5000)

    processes = []
    for name in "ab":
        process = os.fork()
        if not process:
            with suppress(BaseException):
                adding(name)
                racing(name)
                os._exit(0)
            os._exit(1)
        processes.append(process)
    for process in processes:
        assert os.waitpid(process, 0)[1] == 0
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "begin"
    assert sorted(lines[1:]) == sorted(f"{name} {number}" for name in "ab" for number in range(many))
    for number in range(many):
        assert (tmp_path / f"new-{number}").read_text(encoding="utf-8") in ("a" * 5000, "b" * 5000)
    assert not list(tmp_path.glob(".writing-*"))
