"""Runs the command line, within this process or as a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass

import pytest

from optimiser.cli.funnel import guarded
from optimiser.cli.main import cli


@dataclass(frozen=True, slots=True)
class Ran:
    code: int
    out: str
    err: str


def here(capsys: pytest.CaptureFixture[str], *words: str) -> Ran:
    """The command in this process: quick, and with the real exit code."""
    capsys.readouterr()
    before, sys.argv = sys.argv, ["optimiser", *words]
    try:
        with pytest.raises(SystemExit) as left:
            guarded(cli)
    finally:
        sys.argv = before
    said = capsys.readouterr()
    code = left.value.code
    assert isinstance(code, int | None)
    return Ran(code or 0, said.out, said.err)


def apart(*words: str, env: Mapping[str, str] | None = None) -> Ran:
    """The command as a process of its own, its output read as bytes."""
    run = subprocess.run(
        [sys.executable, "-m", "optimiser", *words],
        env={**os.environ, **(env or {})},
        capture_output=True,
        check=False,
    )
    return Ran(run.returncode, run.stdout.decode("utf-8", "strict"), run.stderr.decode("utf-8", "strict"))
