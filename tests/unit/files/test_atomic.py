"""Files are written whole or not at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from optimiser.errors import OptimiserError
from optimiser.files.atomic import write_atomic, write_new


def _names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_text_and_bytes_are_written_as_they_are(tmp_path: Path) -> None:
    write_atomic(tmp_path / "a.txt", "Kaolin\r\nµ\n")
    write_atomic(tmp_path / "b.bin", b"\x00\r\n")
    assert (tmp_path / "a.txt").read_bytes() == "Kaolin\r\nµ\n".encode()
    assert (tmp_path / "b.bin").read_bytes() == b"\x00\r\n"
    write_atomic(tmp_path / "a.txt", "shorter")
    assert (tmp_path / "a.txt").read_text() == "shorter"
    assert _names(tmp_path) == ["a.txt", "b.bin"]


def test_the_rights_of_a_file_that_is_there_stay(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    path.chmod(0o600)
    write_atomic(path, "new")
    assert path.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("write", [write_atomic, write_new])
def test_a_full_disk_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, write: object
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    path = tmp_path / "a.txt"
    if write is write_atomic:
        path.write_text("old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OptimiserError, match=r"a\.txt cannot be written: no space left on device") as caught:
        (write_atomic if write is write_atomic else write_new)(path, "new")
    assert caught.value.fix
    monkeypatch.undo()
    assert _names(tmp_path) == (["a.txt"] if write is write_atomic else [])
    assert write is write_new or path.read_text() == "old"


def test_a_move_that_fails_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(self: Path, _: Path) -> Path:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "replace", refused)
    with pytest.raises(OptimiserError, match="permission denied"):
        write_atomic(tmp_path / "a.txt", "new")
    monkeypatch.undo()
    assert _names(tmp_path) == []


@pytest.mark.parametrize("write", [write_atomic, write_new])
def test_a_missing_folder_and_a_folder_in_the_way_are_said(tmp_path: Path, write: object) -> None:
    act = write_atomic if write is write_atomic else write_new
    with pytest.raises(OptimiserError, match="no such file or directory"):
        act(tmp_path / "not there" / "a.txt", "x")
    (tmp_path / "folder").mkdir()
    with pytest.raises(OptimiserError, match="folder"):
        act(tmp_path / "folder", "x")
    assert _names(tmp_path) == ["folder"]


def test_a_new_file_never_takes_the_place_of_another_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    write_new(path, "one")
    with pytest.raises(OptimiserError, match=r"a\.yaml exists already"):
        write_new(path, "two")
    assert path.read_text() == "one"
    write_new(path, "two", force=True)
    assert path.read_text() == "two"
    assert _names(tmp_path) == ["a.yaml"]


def test_a_file_system_without_links_still_gets_its_new_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    path = tmp_path / "a.yaml"
    write_new(path, "one")
    assert path.read_text() == "one"
    with pytest.raises(OptimiserError):
        write_new(path, "two")
    assert path.read_text() == "one"
    assert _names(tmp_path) == ["a.yaml"]
