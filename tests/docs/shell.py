"""A shell in which `optimiser` and `python` are those of this test run."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.docs.pages import ROOT

NOISE = ("… ", "Running HiGHS ", "Includes third-party software")
"""How lines begin that tell of progress or of HiGHS' version."""


@dataclass(frozen=True, slots=True)
class Ran:
    """What a command printed (noise left out, blanks at line ends stripped) and its exit code."""

    lines: tuple[str, ...]
    code: int


def make_bin(folder: Path) -> Path:
    """A folder for PATH that holds the two commands."""
    folder.mkdir(parents=True, exist_ok=True)
    python = shlex.quote(sys.executable)
    for name, call in (("optimiser", f"{python} -m optimiser"), ("python", python)):
        script = folder / name
        script.write_text(f'#!/bin/sh\nexec {call} "$@"\n', encoding="utf-8")
        script.chmod(0o755)
    return folder


def run(command: str, cwd: Path, bin_folder: Path) -> Ran:
    """Runs one command line; what it says on standard error comes after what it prints."""
    known = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "COLUMNS"))}
    path = f"{bin_folder}{os.pathsep}{known.get('PATH', '')}"
    env = {**known, "PATH": path, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        ["sh", "-c", command], cwd=cwd, env=env, capture_output=True, encoding="utf-8", timeout=1200
    )
    said = (*done.stdout.splitlines(), *done.stderr.splitlines())
    lines = [line.rstrip() for line in said if not line.startswith(NOISE)]
    while lines and not lines[-1]:
        lines.pop()
    return Ran(tuple(lines), done.returncode)
