"""`optimiser --help` beside `python -c "import click"`, in turn."""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys


def measured(times: int) -> dict[str, object]:
    """Processor seconds of each, the median of their ratios, and whether it is within twice."""
    commands = {"help": ["-m", "optimiser", "--help"], "click": ["-c", "import click"]}
    spent: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(times):
        for name, command in commands.items():
            spent[name].append(_seconds(command))
    ratio = statistics.median(a / b for a, b in zip(spent["help"], spent["click"], strict=True))
    least = min(spent["help"]) / min(spent["click"])
    return {**{name: min(each) for name, each in spent.items()}, "ratio": ratio, "least": least}


def _seconds(command: list[str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *command], capture_output=True, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
