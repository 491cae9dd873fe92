"""`optimiser across`: exit codes, a kill at any moment, a stop that says how to go on, a lost worker."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from optimiser.workflows.across import Means, across, read_tables, write_range
from optimiser.workflows.across_job import Wishes
from tests.cli.line import apart, here
from tests.ranges import range_of, small_table
from tests.workflows.test_across import files

WORDS = ("--leave-out", "brown-wax")


@pytest.fixture(scope="module")
def balms(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_table(tmp_path_factory.mktemp("range") / "balms", range_of(16))


@pytest.fixture(scope="module")
def whole(balms: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What one run without a stop writes."""
    to = tmp_path_factory.mktemp("whole")
    tables = read_tables([balms])
    wishes = Wishes((("leave_out", ("brown-wax",)), ("seconds", 60.0)))
    write_range(across(tables, wishes, Means(to=to)), tables, to)
    return files(to)


def begun(*words: str, states: Path, count: int) -> subprocess.Popen[bytes]:
    """The command as a process of its own, let run until so many formulas are kept."""
    command = [sys.executable, "-m", "optimiser", "across", *words]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    until = time.monotonic() + 60
    while len(list(states.glob("*.json"))) < count and running.poll() is None and time.monotonic() < until:
        time.sleep(0.005)
    return running


def test_a_kill_midway_then_the_same_again_writes_what_one_run_writes(
    balms: Path, whole: dict[str, bytes], tmp_path: Path
) -> None:
    words = ("-w", str(balms), *WORDS, "--to", str(tmp_path))
    running = begun(*words, states=tmp_path / "states", count=5)
    running.kill()
    running.communicate()
    assert running.returncode == -signal.SIGKILL
    kept = {path: path.stat().st_mtime_ns for path in (tmp_path / "states").glob("*.json")}
    assert 5 <= len(kept) < 16
    done = apart("across", *words)
    assert done.code == 0, done.err
    assert files(tmp_path) == whole
    assert all(path.stat().st_mtime_ns == moment for path, moment in kept.items())


def test_a_stop_keeps_what_is_done_and_says_how_to_go_on(
    balms: Path, whole: dict[str, bytes], tmp_path: Path
) -> None:
    words = ("-w", str(balms), *WORDS, "--to", str(tmp_path))
    running = begun(*words, states=tmp_path / "states", count=3)
    running.send_signal(signal.SIGTERM)
    out, err = running.communicate(timeout=60)
    assert running.returncode == 130, err
    assert b"the same command goes on from what is kept" in err
    assert b"Traceback" not in err
    assert b"of 16 formulas are still to do" in out
    assert json.loads((tmp_path / "across.json").read_bytes())["stopped"]
    kept = {name: data for name, data in files(tmp_path).items() if not name.startswith("across.")}
    assert len(kept) >= 6
    assert kept.items() <= whole.items()


def test_exit_codes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = str(small_table(tmp_path / "small"))
    assert here(capsys, "across", "-w", folder, *WORDS).code == 0
    found = here(capsys, "across", "-w", folder, *WORDS, "--leave-out", "grey-wax", "--json")
    assert found.code == 3
    assert json.loads(found.out)["counts"]["impossible"] == 2
    assert here(capsys, "across", "-w", folder, "--leave-out", "field-oil").code == 1
    missing = here(capsys, "across", "-w", folder, "--leave-out", "brown-wacks")
    assert missing.code == 2
    assert "did you mean" in missing.err
    assert here(capsys, "across", "-w", folder, "--price", "chalk").code == 2
    assert here(capsys, "across", "-w", str(tmp_path / "nowhere")).code == 1


def test_the_table_on_the_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = str(small_table(tmp_path / "small"))
    found = here(capsys, "across", "-w", folder, *WORDS, "--price", "chalk=9/kg")
    lines = [line.rstrip() for line in found.out.splitlines()]
    assert "The range: without brown-wax · chalk at 9/kg" in lines
    paste = next(line for line in lines if line.startswith("paste"))
    assert " ".join(paste.split()) == "paste works 6.5 1.60 2.80 2.90 Brown wax → Grey wax"
    assert "4 formulas: 2 work with changes, 2 are fine as they are." in lines
    rescued = here(capsys, "across", "-w", folder, *WORDS, "--leave-out", "pale-butter", "--rescue", "table")
    told = " ".join(rescued.out.split())
    assert "With Grey wax as the only new ingredient 3 of 4 formulas work, 2 of them with it in." in told
    assert "Proved: nothing else in the table does more" in told


def children() -> list[int]:
    """Processes that this one started for a range."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parent = (folder / "stat").read_text().rpartition(")")[2].split()[1]
            words = (folder / "cmdline").read_bytes()
        except OSError:
            continue
        if int(parent) == os.getpid() and b"LokyProcess" in words:
            found.append(int(folder.name))
    return sorted(found)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks for processes under /proc")
def test_a_process_lost_midway_loses_no_answer(balms: Path, whole: dict[str, bytes], tmp_path: Path) -> None:
    lost: list[int] = []

    def lose_one(text: str) -> None:
        if text.startswith("4 of 16"):
            lost.extend(children()[:1])
            os.kill(lost[0], signal.SIGKILL)

    tables = read_tables([balms])
    wishes = Wishes((("leave_out", ("brown-wax",)), ("seconds", 60.0)))
    found = across(tables, wishes, Means(jobs=2, to=tmp_path), lose_one)
    write_range(found, tables, tmp_path)
    assert lost
    assert files(tmp_path) == whole


def workers_of(cluster: object) -> list[int]:
    return [worker.process.pid for worker in cluster.workers.values()]  # type: ignore[attr-defined]


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_that_loses_a_worker_writes_the_same_bytes(
    balms: Path, whole: dict[str, bytes], tmp_path: Path
) -> None:
    library = pytest.importorskip("distributed", reason="the cluster's library is not installed")
    with library.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as cluster:
        victims = workers_of(cluster)
        told: list[str] = []

        def lose_one(text: str) -> None:
            told.append(text)
            if text.startswith("4 of 16"):
                os.kill(victims[0], signal.SIGKILL)

        tables = read_tables([balms])
        wishes = Wishes((("leave_out", ("brown-wax",)), ("seconds", 60.0)))
        means = Means(cluster=cluster.scheduler_address, to=tmp_path)
        found = across(tables, wishes, means, lose_one)
        until = time.monotonic() + 10
        while victims[0] in workers_of(cluster) and time.monotonic() < until:
            time.sleep(0.05)
        assert victims[0] not in workers_of(cluster), "the worker is lost, another took its place"
    write_range(found, tables, tmp_path)
    assert any(text.startswith("4 of 16") for text in told)
    assert len(found.answers) == 16
    assert files(tmp_path) == whole
