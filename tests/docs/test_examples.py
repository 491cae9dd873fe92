"""Every folder of examples/ runs and prints its expected.txt."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.docs.pages import EXAMPLES, settle
from tests.docs.sessions import masked
from tests.docs.shell import make_bin, run

FOLDERS = sorted(
    path for path in EXAMPLES.iterdir() if path.is_dir() and not path.name.startswith((".", "_"))
)


def command_of(folder: Path) -> str:
    """`sh run.sh`, or the folder's one Python file."""
    if (folder / "run.sh").exists():
        return "sh run.sh"
    scripts = sorted(path.name for path in folder.glob("*.py"))
    assert len(scripts) == 1, f"{folder.name} needs run.sh or one Python file"
    return f"python {scripts[0]}"


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda path: path.name)
def test_an_example_prints_what_it_is_expected_to(folder: Path, tmp_path: Path, write_docs: bool) -> None:
    home = tmp_path / folder.name
    shutil.copytree(folder, home)
    ran = run(command_of(folder), home, make_bin(tmp_path / "bin"))
    fresh = "\n".join(ran.lines) + "\n"
    assert ran.code == 0, fresh
    expected = folder / "expected.txt"
    old = expected.read_text(encoding="utf-8") if expected.exists() else ""
    settle(expected, fresh, old, write_docs, same=masked(fresh) == masked(old))


def test_every_example_is_there_and_says_what_it_shows() -> None:
    names = {"sensitive-mask", "impossible", "own-ingredient", "analyst"}
    assert names <= {folder.name for folder in FOLDERS}
    for folder in FOLDERS:
        text = (folder / "README.md").read_text(encoding="utf-8")
        assert "invented" in text.casefold(), (
            f"{folder.name}/README.md does not say that its data is invented"
        )
