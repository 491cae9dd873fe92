"""A shell in which `optimiser` and `python` are those of this test run."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.docs.pages import ROOT
from tests.docs.warm import command
from tests.once import once, state_of

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
    for name, call in (("optimiser", command()), ("python", shlex.quote(sys.executable))):
        script = folder / name
        script.write_text(f'#!/bin/sh\nexec {call} "$@"\n', encoding="utf-8")
        script.chmod(0o755)
    return folder


def run(line: str, cwd: Path, bin_folder: Path) -> Ran:
    """Runs one command line; what it says on standard error comes after what it prints.

    The same line on the same files is run once a run of the tests; where it comes again, its files are
    written as it left them, one after the other as they were. Only what is below `cwd` counts, so a line may
    not speak of other places.
    """
    run_here: list[bool] = []

    def made() -> tuple[Ran, dict[str, bytes | None]]:
        run_here.append(True)
        return _run(line, cwd, bin_folder)

    ran, left = once(f"run {line} {state_of(cwd)}", made)
    for name, data in () if run_here else left.items():
        path = cwd / name
        if data is None:
            path.unlink(missing_ok=True)
        else:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
    return ran


def _run(line: str, cwd: Path, bin_folder: Path) -> tuple[Ran, dict[str, bytes | None]]:
    known = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "COLUMNS"))}
    path = f"{bin_folder}{os.pathsep}{known.get('PATH', '')}"
    env = {**known, "PATH": path, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}
    before = _files(cwd)
    done = subprocess.run(
        ["sh", "-c", line], cwd=cwd, env=env, capture_output=True, encoding="utf-8", timeout=1200
    )
    after = _files(cwd)
    said = (*done.stdout.splitlines(), *done.stderr.splitlines())
    lines = [text.rstrip() for text in said if not text.startswith(NOISE)]
    while lines and not lines[-1]:
        lines.pop()
    changed = [name for name in {*before, *after} if before.get(name) != after.get(name)]
    changed.sort(key=lambda name: (_written(cwd / name), name))
    return Ran(tuple(lines), done.returncode), {name: after.get(name) for name in changed}


def _written(path: Path) -> int:
    return path.stat().st_mtime_ns if path.exists() else 0


def _files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
