"""`optimiser across` for many formulas: rate per core, and what a second core brings."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from pathlib import Path

from tests.benchmarks.tables import formula_name, write_table

ROWS = 50
JOBS = (1, 2)
LONG = 300
"""Ranges longer than this are asked of two processes only."""


def measured(place: Path, count: int) -> dict[str, object]:
    """Seconds of wall and processor for `count` formulas with the brief `swap`, one process and two."""
    folder = write_table(place / f"range-{count}", ROWS, formulas=count)
    figures: dict[str, object] = {}
    for jobs in JOBS if count <= LONG else JOBS[-1:]:
        wall, spent = _across(folder, ["--jobs", str(jobs), "--brief", "swap"])
        figures[str(jobs)] = {"wall": wall, "processor": spent, "per_core_and_minute": 60 * count / spent}
    return figures


def _across(folder: Path, words: list[str]) -> tuple[float, float]:
    command = [sys.executable, "-m", "optimiser", "across", "-w", str(folder), *words, "--json"]
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    told = subprocess.run(command, capture_output=True, text=True, env=dict(os.environ))
    wall = time.monotonic() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if formula_name(0) not in told.stdout:
        raise RuntimeError(told.stderr[-500:])
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
