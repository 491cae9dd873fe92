"""The log of a trial under two writers, and under writers that are killed in the middle."""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from datetime import date
from fractions import Fraction
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from optimiser.domain.trials import Entry, Planned, Trial
from optimiser.errors import DataError, UsageError
from optimiser.export.trial_yaml import trial_text
from optimiser.loading.trials import read_trial
from optimiser.workflows.trials import get_trial, record

F = Fraction
DAY = date(2026, 11, 20)
TRIAL = Trial(
    "serum-1", "serum", DAY, F(250), (Planned("A", "water", F("247.5")), Planned("B", "xanthan", F("2.5")))
)
KILLS = 30
forking = pytest.mark.skipif(
    "fork" not in multiprocessing.get_all_start_methods() or not hasattr(signal, "SIGKILL"),
    reason="processes are not forked and killed outright here",
)


def on_disk(folder: Path) -> Path:
    path = folder / "trials" / "serum-1.yaml"
    path.parent.mkdir()
    path.write_text(trial_text(TRIAL), encoding="utf-8")
    return path


def write(folder: Path, who: str, count: int, told: Connection | None = None) -> None:
    """Writes entries; each number is told once the entry is said to be kept."""
    for at in range(count):
        trial = record(folder, "serum-1", [Entry(0, DAY, "remark", text=f"{who} {at}", who=who)])
        if told is not None:
            told.send(len(trial.entries))


@forking
def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    on_disk(tmp_path)
    context = multiprocessing.get_context("fork")
    writers = [context.Process(target=write, args=(tmp_path, who, 50)) for who in ("one", "two")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
        assert writer.exitcode == 0
    entries = get_trial(tmp_path, "serum-1").entries
    assert [one.number for one in entries] == list(range(1, 101))
    assert {one.text for one in entries} == {f"{who} {at}" for who in ("one", "two") for at in range(50)}


@forking
def test_writers_that_are_killed_lose_nothing_that_was_kept_and_leave_nothing_half(tmp_path: Path) -> None:
    path = on_disk(tmp_path)
    context = multiprocessing.get_context("fork")
    kept, kills_while_writing = 0, 0
    for at in range(KILLS):
        here, there = context.Pipe(duplex=False)
        writer = context.Process(target=write, args=(tmp_path, f"writer {at}", 10**6, there))
        writer.start()
        there.close()
        kept = max(kept, here.recv())
        time.sleep(at * 0.0007)
        assert writer.pid is not None
        os.kill(writer.pid, signal.SIGKILL)
        writer.join(10)
        kills_while_writing += writer.exitcode == -signal.SIGKILL
        while here.poll():
            try:
                kept = max(kept, here.recv())
            except EOFError:
                break
        entries = get_trial(tmp_path, "serum-1").entries
        assert len(entries) >= kept
        assert [one.number for one in entries] == list(range(1, len(entries) + 1))
        assert path.read_bytes().endswith(b"\n")
    assert kills_while_writing == KILLS
    assert record(tmp_path, "serum-1", [Entry(0, DAY, "remark", text="after")]).entries[-1].text == "after"


def test_what_stood_there_stays_byte_for_byte_and_a_correction_is_an_entry(tmp_path: Path) -> None:
    path = on_disk(tmp_path)
    record(tmp_path, "serum-1", [Entry(0, DAY, "read", measure="ph", value=F(52))])
    before = path.read_bytes()
    trial = record(tmp_path, "serum-1", [Entry(0, DAY, "read", measure="ph", value=F("5.2"), corrects=1)])
    assert path.read_bytes().startswith(before)
    assert [one.value for one in trial.readings("ph")] == [F("5.2")]


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (Entry(0, DAY, "corrected", corrects=7), "no entry 7"),
        (Entry(0, DAY, "weighed", ingredient="xantan", grams=F(1)), "no line of trial"),
        (Entry(0, date(2026, 11, 19), "remark", text="early"), "is before"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_of_the_same_call_is_kept(
    tmp_path: Path, entry: Entry, told: str
) -> None:
    path = on_disk(tmp_path)
    before = path.read_bytes()
    with pytest.raises(UsageError, match=told):
        record(tmp_path, "serum-1", [Entry(0, DAY, "remark", text="well"), entry])
    assert path.read_bytes() == before


def test_a_broken_file_is_told_and_not_written_to(tmp_path: Path) -> None:
    path = on_disk(tmp_path)
    broken = path.read_text(encoding="utf-8") + "- {n: 2, day: 2026-11-20, what: remark, text: x}\n"
    path.write_text(broken, encoding="utf-8")
    assert read_trial(path)[0] is None
    with pytest.raises(DataError):
        record(tmp_path, "serum-1", [Entry(0, DAY, "remark", text="x")])
    assert path.read_text(encoding="utf-8") == broken
