"""Attacks a reader for some time with files made worse, in a process with bounds on time and memory.

`python -m tests.hostile.fuzz csv --seconds 60` begins from sound files and makes them worse at random;
`--engine coverage` lets atheris (a package of its own, not among the extras) steer by the lines reached.
A file that upsets the reader is written to `--found` under the name of what went wrong.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import random
import re
import subprocess
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.hostile.mutations import mutated
from tests.hostile.readers import READERS, Bench, give, seeds
from tests.hostile.watch import bound_memory, watched

STUCK = 120.0
"""Seconds on the clock after which a process that says nothing is given up."""


@dataclass(slots=True)
class Run:
    """What a run has tried and found; counts are shared with the process that reads."""

    tried: Any = field(default_factory=lambda: multiprocessing.Value("q", 0))
    peak_mb: Any = field(default_factory=lambda: multiprocessing.Value("q", 0))
    faults: list[str] = field(default_factory=list)


def attack(reader: str, seconds: float, seed: int, found: Path) -> Run:
    """Processes one after another, each until it falls or the time is over."""
    run, until, turn = Run(), time.monotonic() + seconds, 0
    while (left := until - time.monotonic()) > 0:
        given, sent = multiprocessing.Pipe(duplex=False)
        process = multiprocessing.get_context("fork").Process(
            target=_attacked, args=(reader, left, f"{seed} {turn}", run, sent, found)
        )
        process.start()
        sent.close()
        process.join(left + STUCK)
        if process.is_alive():
            process.kill()
            process.join()
            run.faults.append("stuck")
        try:
            run.faults.append(given.recv())
        except EOFError:
            run.faults += [f"the process ended with {process.exitcode}"] if process.exitcode else []
        turn += 1
    return run


def _attacked(reader: str, seconds: float, seed: str, run: Run, sent: Any, found: Path) -> None:
    dice, until = random.Random(seed), time.monotonic() + seconds
    sound = seeds(reader)
    names = sorted(sound)
    with tempfile.TemporaryDirectory() as folder:
        tempfile.tempdir = folder
        bench = Bench(Path(folder))
        give(bench, reader, names[0], sound[names[0]])
        bound_memory()
        while time.monotonic() < until:
            name = dice.choice(names)
            data = mutated(dice, sound[name], sound)
            try:
                with watched(Path(folder)):
                    give(bench, reader, name, data)
            except BaseException as error:
                kept = found / f"{reader}-{type(error).__name__}-{abs(hash(data)) % 10**8}"
                found.mkdir(parents=True, exist_ok=True)
                kept.write_bytes(data)
                at = traceback.extract_tb(error.__traceback__)[-1]
                sent.send(f"{name}: {type(error).__name__} {str(error)[:200]} ({at.filename}:{at.lineno})")
                break
            finally:
                run.tried.value += 1
        run.peak_mb.value = max(run.peak_mb.value, _peak_mb())
        tempfile.tempdir = None
        if bench.page is not None:
            bench.stack.close()


def _peak_mb() -> int:
    text = Path("/proc/self/status").read_text(encoding="ascii")
    return int((re.search(r"VmHWM:\s+(\d+)", text) or [0, 0])[1]) // 1024


def by_coverage(reader: str, seconds: int, found: Path) -> tuple[int, list[str]]:
    """(files tried, faults) of a run in which atheris chooses; it ends its process, so it has its own."""
    found.mkdir(parents=True, exist_ok=True)
    command = [sys.executable, "-m", "tests.hostile.steered", reader, str(seconds), str(found)]
    done = subprocess.run(command, capture_output=True, text=True, errors="replace")
    tried = [int(count) for count in re.findall(r"^(?:Done |#)(\d+)", done.stderr, re.MULTILINE)]
    faults = [] if done.returncode == 0 else [done.stderr[-1500:]]
    return max(tried, default=0), faults


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("reader", choices=sorted(READERS))
    said.add_argument("--seconds", type=int, default=60)
    said.add_argument("--seed", type=int, default=0)
    said.add_argument("--engine", choices=("mutations", "coverage"), default="mutations")
    said.add_argument("--found", type=Path, default=Path("found"))
    asked = said.parse_args()
    told: dict[str, object] = {"reader": asked.reader, "engine": asked.engine, "seconds": asked.seconds}
    if asked.engine == "coverage":
        told["tried"], told["faults"] = by_coverage(asked.reader, asked.seconds, asked.found)
    else:
        run = attack(asked.reader, asked.seconds, asked.seed, asked.found)
        told |= {"tried": run.tried.value, "peak_mb": run.peak_mb.value, "faults": run.faults}
    sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    main()
