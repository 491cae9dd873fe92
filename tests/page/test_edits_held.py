"""What the page holds of changes: so many bytes and no more, each written once, however often pressed."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from starlette.exceptions import HTTPException

from optimiser.loading.described import TABLES
from optimiser.page import editing, edits, tabling
from optimiser.page.edits import At, Edit, Edits, Written
from optimiser.workflows import table
from optimiser.workflows.table import Plan, Rewritten, table_of
from tests.page.conftest import Visitor
from tests.page.row_forms import added, back
from tests.page.table_forms import FILE, press, read
from tests.unit.loading.folders import SOUND

FLAGS = "flags.csv"


def edit(size: int) -> Edit:
    return Edit("", "add", At(), {"ingredients.csv": b"x" * size, FLAGS: None}, {"id": "wax"})


def plan(mark: str, size: int) -> Plan:
    return Plan((Rewritten(FLAGS, None, mark.encode() * size),), ())


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(edits, "MOST_BYTES", 1000)


def test_the_oldest_changes_go_once_their_bytes_are_too_many() -> None:
    held = Edits()
    first, second, third = (held.start(edit(400)) for _ in range(3))
    with pytest.raises(HTTPException, match="not held any more"):
        held.get(first.id)
    assert (held.get(second.id), held.get(third.id)) == (second, third)
    alone = held.start(edit(5000))
    assert held.get(alone.id) is alone
    with pytest.raises(HTTPException):
        held.get(third.id)


def test_a_change_that_was_written_holds_no_file() -> None:
    held = Edits()
    begun = held.start(edit(900))
    held.written(begun, plan("a", 10))
    after = held.get(begun.id)
    assert (after.written, after.weight, after.home) == (True, 0, "/ingredient/wax")


def test_writes_that_are_forgotten_are_counted() -> None:
    history = Written()
    for mark in "abc":
        history.add(plan(mark, 450))
    assert [one.files[0].after for one in history.done] == [b"b" * 450, b"c" * 450]
    assert history.forgotten == 1
    history.step(back=True)
    assert (len(history.done), len(history.undone)) == (1, 1)
    history.add(plan("d", 450))
    assert (len(history.done), len(history.undone), history.forgotten) == (2, 0, 1)


def test_a_change_that_moved_on_is_not_put_back() -> None:
    held = Edits()
    begun = held.start(edit(10))
    held.written(begun, plan("a", 10))
    assert not held.swap(begun, begun)
    assert held.get(begun.id).written
    current = held.get(begun.id)
    assert held.swap(current, current)


def both_at_once(ask: Callable[[], Any]) -> list[Any]:
    with ThreadPoolExecutor(2) as pool:
        return [one.result() for one in [pool.submit(ask) for _ in range(2)]]


def counted(monkeypatch: pytest.MonkeyPatch, place: Any, name: str) -> list[int]:
    """Calls of a function, each made slow, so that another could come between."""
    met, calls, real = threading.Lock(), [], getattr(place, name)

    def slowly(*given: Any) -> Any:
        with met:
            calls.append(1)
        time.sleep(0.2)
        return real(*given)

    monkeypatch.setattr(place, name, slowly)
    return calls


def test_a_form_posted_twice_at_once_is_written_once(
    maker: Visitor, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = added(maker, "glycerin", "flags", flag="palm", state="unknown")
    calls = counted(monkeypatch, editing, "write")
    answers = both_at_once(lambda: press(maker, shown))
    assert ["Written." in one.text for one in answers] == [True, True]
    assert len(calls) == 1
    assert read(place, FLAGS) == SOUND[FLAGS] + "glycerin,palm,unknown,,\n"


def test_a_write_is_taken_back_once_however_often_it_is_pressed(
    maker: Visitor, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    press(maker, added(maker, "xanthan", "flags", flag="palm", state="unknown"))
    written = press(maker, added(maker, "glycerin", "flags", flag="palm", state="unknown"))
    calls = counted(monkeypatch, tabling, "take_back")
    answers = both_at_once(lambda: back(maker, written))
    assert sorted(one.status_code for one in answers) == [200, 409]
    assert len(calls) == 1
    assert read(place, FLAGS) == SOUND[FLAGS] + "xanthan,palm,unknown,,\n"


def test_what_can_no_longer_be_taken_back_is_said(maker: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(edits, "MOST_BYTES", 1)
    for flag in ("palm", "soy"):
        written = press(maker, added(maker, "glycerin", "flags", flag=flag, state="unknown"))
    assert "not held any more and can no longer be taken back here" in written.text
    assert "before it can be taken back" not in written.text


def test_a_large_table_is_cut_once_beside_another(monkeypatch: pytest.MonkeyPatch) -> None:
    """How many bytes are kept counts, not the size of one table; the one used longest ago goes first."""
    large = SOUND[FILE].replace("pink clay", "pink clay" + "y" * 300_000).encode()
    flags = SOUND[FLAGS].encode()
    first, second = table_of(large), table_of(flags, TABLES["flags"])
    assert first is not None
    assert first is table_of(large)
    assert second is table_of(flags, TABLES["flags"])
    monkeypatch.setattr(table, "MOST_KEPT", len(large))
    other = table_of(large + b"\n")
    assert other is not table_of(large + b"\n"), "one that is larger than all that may be kept is cut again"
    assert table_of(flags + b"\n", TABLES["flags"]) is table_of(flags + b"\n", TABLES["flags"])
    assert first is not table_of(large)
