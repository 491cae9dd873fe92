"""Another program in the folder where the page or a range is started is never taken for this one."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.page.conftest import ROOT
from tests.unit.loading.folders import MASK, write

ASKED = """
import sys
sys.path.insert(0, {root!r})
from pathlib import Path
from optimiser.page.drafts import Asking
from optimiser.page.questions import Question
from optimiser.page.work import Work
if __name__ == "__main__":
    work = Work(Path("table"))
    job = work.ask(Question("mask", Asking(aim="cheapest"), 0), "owner")
    import time
    while job.state == "running":
        time.sleep(0.01)
    print(job.state, type(job.outcome).__name__)
    work.close()
"""
SPREAD = """
import sys
sys.path.insert(0, {root!r})
from optimiser.__main__ import main
if __name__ == "__main__":
    sys.argv = ["optimiser", "across", "-w", "table", "--aim", "cheapest", "--jobs", "2"]
    main()
"""


@pytest.fixture
def astray(tmp_path: Path) -> Path:
    """A folder with a worktable, and modules that end whatever reads them."""
    write(tmp_path / "table", {"formulas/mask.yaml": MASK})
    (tmp_path / "optimiser").mkdir()
    for name in ("optimiser/__init__.py", "yaml.py", "joblib.py"):
        (tmp_path / name).write_text(f"raise SystemExit({name!r} + ' of the folder was read')\n")
    return tmp_path


def run(place: Path, aside: Path, text: str) -> subprocess.CompletedProcess[str]:
    script = aside / "started.py"
    script.write_text(text.format(root=str(ROOT)), encoding="utf-8")
    plain = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    return subprocess.run(
        [sys.executable, script],
        cwd=place,
        env=plain,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_the_page_solves_with_its_own_program(astray: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    done = run(astray, tmp_path_factory.mktemp("aside"), ASKED)
    assert done.stdout.split()[0] == "done", done
    assert "of the folder" not in done.stderr


def test_a_range_is_answered_by_its_own_program(
    astray: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    done = run(astray, tmp_path_factory.mktemp("aside"), SPREAD)
    assert done.returncode in (0, 3, 4), done
    assert "of the folder" not in done.stderr + done.stdout
