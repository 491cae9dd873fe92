"""Two writers never hold one lock, and its file is gone once nobody does."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from optimiser.errors import OptimiserError
from optimiser.files import journal
from optimiser.files.journal import add_to, held
from optimiser.files.locking import locked

WAIT_S = 20.0
TIMES = 10
WRITER = """
import sys
from pathlib import Path
from optimiser.files.journal import add_to
for at in range(int(sys.argv[2])):
    add_to(Path(sys.argv[1]), lambda text: f"{len(text.splitlines())}\\n")
"""


def locks(folder: Path) -> list[str]:
    return [one.name for one in folder.iterdir() if one.name.startswith(".lock")]


def test_writers_in_several_processes_lose_nothing_and_leave_no_lock(tmp_path: Path) -> None:
    """Each adds a line that says how many stood there: a lost one, or two at once, would show."""
    file = tmp_path / "log.txt"
    file.write_text("0\n", encoding="utf-8")
    command = [sys.executable, "-c", WRITER, str(file), str(TIMES)]
    others = [subprocess.Popen(command) for _ in range(2)]
    for _ in range(TIMES):
        add_to(file, lambda text: f"{len(text.splitlines())}\n")
    assert [one.wait(60) for one in others] == [0, 0]
    count = 3 * TIMES + 1
    assert file.read_text(encoding="utf-8").split() == [str(at) for at in range(count)]
    assert locks(tmp_path) == []


def test_never_two_of_many_threads_at_once(tmp_path: Path) -> None:
    place, inside, most = tmp_path / ".lock-x", [0], [0]

    def work() -> None:
        for _ in range(8):
            with locked(place, WAIT_S):
                inside[0] += 1
                most[0] = max(most[0], inside[0])
                time.sleep(0.0005)
                inside[0] -= 1

    threads = [threading.Thread(target=work) for _ in range(6)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert most[0] == 1
    assert locks(tmp_path) == []


def test_who_waited_for_a_file_that_was_taken_away_does_not_hold_it(tmp_path: Path) -> None:
    """One opens the file, its holder takes it away and lets go, another makes it anew and holds that."""
    fcntl = pytest.importorskip("fcntl")
    place = tmp_path / ".lock-x"
    with locked(place, WAIT_S):
        waiting = os.open(place, os.O_RDWR)
    with locked(place, WAIT_S):
        fcntl.flock(waiting, fcntl.LOCK_EX | fcntl.LOCK_NB)
        with pytest.raises(TimeoutError), locked(place, 0.0):
            pass
        os.close(waiting)
    assert locks(tmp_path) == []


def test_a_lock_left_behind_by_a_killed_writer_holds_nobody_up(tmp_path: Path) -> None:
    (tmp_path / ".lock-log").touch()
    with held(tmp_path / "log.txt"):
        assert locks(tmp_path) == [".lock-log"]
    assert locks(tmp_path) == []


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(journal, "WAIT_S", 0.05)
    file = tmp_path / "log.txt"
    with (
        held(file),
        pytest.raises(OptimiserError, match="is being written by another program"),
        held(file),
    ):
        pass


def test_a_fault_while_it_is_held_lets_it_go(tmp_path: Path) -> None:
    with pytest.raises(KeyError), held(tmp_path / "log.txt"):
        raise KeyError("x")
    assert locks(tmp_path) == []
