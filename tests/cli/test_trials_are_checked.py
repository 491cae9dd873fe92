"""`optimiser check` reads the trials too."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.line import here
from tests.workflows.desk import copied

SOUND = """\
format: 1
trial: serum-1
formula: rose-serum
opened: 2026-11-20
batch: 250 g
entries:
- {n: 1, day: 2026-11-20, what: read, measure: ph, value: 5.2}
"""


def test_faults_of_trials_come_with_file_and_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = copied(tmp_path)
    (folder / "trials").mkdir()
    path = folder / "trials" / "serum-1.yaml"
    path.write_text(SOUND, encoding="utf-8")
    sound = here(capsys, "check", str(folder))
    assert sound.code == 0
    assert sound.out.endswith("clashes, 1 trial.\n")
    path.write_text(SOUND + "- {n: 2, day: 2026-11-21, what: redd, measure: ph, value: 5.1}\n", "utf-8")
    wrong = here(capsys, "check", str(folder))
    assert wrong.code == 1
    assert 'trials/serum-1.yaml:8: entry: expected what may be written down, found "redd"' in wrong.err
    assert 'did you mean "read"?' in wrong.err
