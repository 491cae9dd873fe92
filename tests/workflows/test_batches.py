"""What was made, where it went, and the way back; entries are added and never lost."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pytest

from optimiser.domain.batches import Batch
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.batch_json import batch_dict, trace_dict
from optimiser.loading.batches import read_batches
from optimiser.workflows.batches import add_entry, open_batch, show_batch, trace
from tests.workflows.desk import FLAGSHIP, copied, table_in

DAY = date(2026, 11, 20)


def made(tmp_path: Path, number: str = "2611-01", formula: str = FLAGSHIP) -> tuple[Path, Batch]:
    folder = copied(tmp_path) if not (tmp_path / "desk").exists() else tmp_path / "desk"
    return folder, open_batch(table_in(folder), number, formula, DAY, "2 kg").batch


def test_a_batch_takes_the_lots_that_expire_first_and_says_what_no_lot_covers(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    done = open_batch(table_in(folder), "2611-01", FLAGSHIP, DAY, "2 kg")
    assert sum(lot.grams for lot in done.batch.lots) == 2000
    assert {lot.ingredient for lot in done.batch.lots if not lot.lot} == set(done.missing)
    dates = {(lot.ingredient, lot.lot): lot.expires for lot in table_in(folder).worktable.shelf}
    for lot in done.batch.lots:
        expires = dates.get((lot.ingredient, lot.lot))
        assert expires is None or expires >= DAY
    assert show_batch(folder, "2611-01") == read_batches(folder)[0][0]
    with pytest.raises(OptimiserError, match="exists already"):
        open_batch(table_in(folder), "2611-01", FLAGSHIP, DAY, "")


def test_jars_are_counted_and_what_cannot_be_is_refused(tmp_path: Path) -> None:
    folder, _ = made(tmp_path)
    add_entry(folder, "2611-01", DAY, "filled", jars="18", holds="100 g")
    with pytest.raises(UsageError, match="held"):
        add_entry(folder, "2611-01", DAY, "went", jars="1", who="Stall")
    add_entry(folder, "2611-01", DAY, "released", who="Wren")
    add_entry(folder, "2611-01", DAY, "kept", jars="1")
    batch = add_entry(folder, "2611-01", DAY, "went", jars="12", who="Stall")
    assert (batch.here, batch.state, batch.went_to) == (6, "released", (("Stall", 12),))
    with pytest.raises(UsageError, match="5 of batch"):
        add_entry(folder, "2611-01", DAY, "went", jars="6", who="Shop")
    with pytest.raises(UsageError, match="has not that many"):
        add_entry(folder, "2611-01", DAY, "back", jars="13", who="Stall")
    assert add_entry(folder, "2611-01", DAY, "back", jars="2", who="Stall").went_to == (("Stall", 10),)
    assert add_entry(folder, "2611-01", DAY, "held", who="Wren", text="smell").state == "held"


def test_a_correction_is_an_entry_and_what_it_corrects_stays_readable(tmp_path: Path) -> None:
    folder, _ = made(tmp_path)
    add_entry(folder, "2611-01", DAY, "filled", jars="81")
    path = folder / "batches" / "2611-01.yaml"
    before = path.read_text(encoding="utf-8")
    add_entry(folder, "2611-01", DAY, "corrected", corrects="1", text="digits swapped")
    batch = add_entry(folder, "2611-01", DAY, "filled", jars="18")
    assert path.read_text(encoding="utf-8").startswith(before)
    assert batch.jars("filled") == 18
    assert [entry["counts"] for entry in batch_dict(batch)["entries"]] == [False, True, True]
    with pytest.raises(UsageError, match="no entry 1 that counts"):
        add_entry(folder, "2611-01", DAY, "corrected", corrects="1", text="again")


def test_from_a_lot_to_the_buyers_and_back(tmp_path: Path) -> None:
    folder, batch = made(tmp_path)
    made(tmp_path, "2611-02", "aloe-gel-mask")
    for number, who in (("2611-01", "Stall"), ("2611-02", "Shop")):
        add_entry(folder, number, DAY, "filled", jars="10")
        add_entry(folder, number, DAY, "released", who="Wren")
        add_entry(folder, number, DAY, "went", jars="4", who=who)
    clay = next(lot.lot for lot in batch.lots if lot.ingredient == "kaolin")
    found = trace(folder, clay)
    assert found.by == ("lot",)
    assert [one.id for one in found.batches] == ["2611-01"]
    assert found.went_to == (("Stall", "2611-01", 4),)
    assert found.here == 6
    water = next(lot.lot for lot in batch.lots if lot.ingredient == "water")
    assert {who for who, _, _ in trace(folder, water).went_to} == {"Stall", "Shop"}
    back = trace(folder, "shop")
    assert clay not in {lot.lot for one in back.batches for lot in one.lots}
    assert trace_dict("shop", back.by, back.batches)["as"] == ["buyer"]
    with pytest.raises(UsageError, match="no lot"):
        trace(folder, "QD-9999x")


def test_hostile_words_stay_one_entry(tmp_path: Path) -> None:
    folder, _ = made(tmp_path)
    nasty = "x'}\n- {n: 9, what: filled, jars: 99}\n#\u202e: |"
    batch = add_entry(folder, "2611-01", DAY, "noted", kind="complaint", text=nasty, who="=cmd()")
    assert len(batch.happened) == 1
    assert batch.jars("filled") == 0
    assert "\n" not in batch.happened[0].text
    for number in ("../formulas/x", "", "..", "2611-01.yaml", "2611-03"):
        with pytest.raises(UsageError):
            add_entry(folder, number, DAY, "noted", kind="remark", text="x")


def test_faults_of_a_file_come_with_their_line(tmp_path: Path) -> None:
    folder, _ = made(tmp_path)
    path = folder / "batches" / "2611-01.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "- {n: 2, day: 2026-13-01, what: fillde}\n", encoding="utf-8")
    with pytest.raises(DataError) as fault:
        show_batch(folder, "2611-01")
    said = " ".join(problem.sentence() for problem in fault.value.problems)  # type: ignore[attr-defined]
    assert "a date such as" in said
    assert "filled" in said


def _write(folder: str, who: str, count: int) -> None:
    for _ in range(count):
        add_entry(Path(folder), "2611-01", DAY, "noted", kind="remark", text=who)


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    folder, _ = made(tmp_path)
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=_write, args=(str(folder), who, 12)) for who in ("one", "two")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
    entries = show_batch(folder, "2611-01").happened
    assert [entry.number for entry in entries] == list(range(1, 25))
    assert sum(entry.text == "one" for entry in entries) == 12


@pytest.mark.skipif(
    not hasattr(signal, "SIGKILL"), reason="no SIGKILL: a process cannot be killed outright here"
)
def test_a_writer_that_is_killed_leaves_nothing_half(tmp_path: Path) -> None:
    folder, _ = made(tmp_path)
    path = folder / "batches" / "2611-01.yaml"
    script = (
        "import sys; from tests.workflows.test_batches import _write; print('on', flush=True);"
        f"_write({str(folder)!r}, 'long', 10**6)"
    )
    for pause in (0.05, 0.11, 0.17):
        with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE) as writer:
            assert writer.stdout is not None
            writer.stdout.readline()
            time.sleep(pause)
            os.kill(writer.pid, signal.SIGKILL)
        batch = show_batch(folder, "2611-01")
        assert [entry.number for entry in batch.happened] == list(range(1, len(batch.happened) + 1))
        assert path.read_bytes().endswith(b"\n")
    add_entry(folder, "2611-01", DAY, "noted", kind="remark", text="after")
