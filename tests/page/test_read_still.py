"""A folder that changes while it is read is never kept half old, half new; what is told is reckoned once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from optimiser.page import desk
from optimiser.page.desk import MOST_READINGS, Desk, Seen
from tests.unit.loading.folders import MASK, write

Reading = Callable[[Path, int], Seen]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    place = tmp_path / "bench"
    write(place, {"formulas/mask.yaml": MASK})
    return place


def writing(place: Path, count: int, read: Reading) -> tuple[Reading, list[int]]:
    """A reading in the course of which somebody renames the formula, the first `count` times."""
    stamps: list[int] = []

    def interrupted(folder: Path, stamp: int) -> Seen:
        found = read(folder, stamp)
        stamps.append(stamp)
        if len(stamps) <= count:
            longer = "x" * len(stamps)
            (place / "formulas/mask.yaml").write_text(f"{MASK}# {longer}\n", encoding="utf-8")
        return found

    return interrupted, stamps


def test_files_changed_while_they_are_read_are_read_anew(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    interrupted, stamps = writing(place, 2, desk._read)
    monkeypatch.setattr(desk, "_read", interrupted)
    table = Desk(place)
    found = table.look()
    assert len(stamps) == 3
    assert found.files["formulas/mask.yaml"] == (place / "formulas/mask.yaml").read_bytes()
    assert found.stamp == desk.stamp_of(place)
    assert table.look() is found
    assert table.seen(stamps[0]) is None


def test_files_that_never_rest_are_shown_and_read_again_the_next_time(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    interrupted, stamps = writing(place, 99, desk._read)
    monkeypatch.setattr(desk, "_read", interrupted)
    table = Desk(place)
    found = table.look()
    assert len(stamps) == MOST_READINGS
    assert found.stamp == stamps[-1] != desk.stamp_of(place)
    monkeypatch.undo()
    now = table.look()
    assert now.files["formulas/mask.yaml"] == (place / "formulas/mask.yaml").read_bytes()


def test_the_same_files_have_the_same_mark(place: Path) -> None:
    table = Desk(place)
    before = table.look()
    (place / "ingredients.csv").touch()
    after = table.look()
    assert after is not before
    assert after.mark == before.mark
    (place / "formulas/mask.yaml").write_text(f"{MASK}\n", encoding="utf-8")
    assert table.look().mark != before.mark
