"""A worktable that is not where it was looked for: which one was meant, or how to name one."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.line import here
from tests.ranges import small_table

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def beside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that is the current one, with a worktable `demo` in it and a folder that is none."""
    small_table(tmp_path / "demo")
    (tmp_path / "dmeos").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("words", [("propose", "balm", "-w"), ("buy", "-w"), ("check",)])
def test_a_folder_misspelt_is_guessed(beside: Path, capsys: Capture, words: tuple[str, ...]) -> None:
    ran = here(capsys, *words, "dmeo")
    assert ran.code == 1
    assert 'dmeo: folder: expected a worktable folder, found nothing; did you mean "demo"?' in ran.err
    far = here(capsys, *words, str(beside / "Dmeo"))
    assert f'did you mean "{beside / "demo"}"?' in far.err
    other = here(capsys, *words, "kitchen")
    assert "give the folder that holds worktable.yaml, such as demo" in other.err


@pytest.mark.usefixtures("beside")
def test_where_no_worktable_is_here_the_option_is_named(capsys: Capture) -> None:
    said = "this folder: worktable: expected worktable.yaml and ingredients.csv, found neither; "
    for words in (("propose", "balm"), ("buy",), ("label", "balm"), ("why", "balm")):
        ran = here(capsys, *words)
        assert ran.code == 1
        assert f"{said}name its folder: -w demo\n" in ran.err
    assert f"{said}name its folder: optimiser check demo\n" in here(capsys, "check").err
    assert "name its folder: -w demo" in " ".join(here(capsys, "across").out.split())


def test_with_none_inside_a_new_one_is_offered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.chdir(tmp_path)
    told = here(capsys, "buy").err
    assert "name its folder: -w FOLDER; optimiser new FOLDER makes one, a copy of the demo" in told


def test_half_a_worktable_is_told_what_it_lacks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    small_table(tmp_path / "half")
    (tmp_path / "half" / "worktable.yaml").unlink()
    monkeypatch.chdir(tmp_path / "half")
    told = here(capsys, "buy").err
    assert "worktable.yaml: file: expected the settings of the worktable, found no such file" in told
    assert "-w" not in told
