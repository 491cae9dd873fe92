"""What runs for one change: finds it in the copy, asks the tests that call it, fails when they notice.

`python -m tests.mutation.notice KEPT LAYER`, with the changed copy of the tree as working directory.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

from tests.mutation.noticing import environment, function_at, pick, pytest_words, read

ENDLESS = "timeout"
NOT_TRIED = "not tried: time is up"
AT_LEAST, TIMES = 40, 2
"""A change makes the tests endless when they take `TIMES` as long as without it, and `AT_LEAST` (s)."""


def main() -> None:
    kept, layer = Path(sys.argv[1]), sys.argv[2]
    if is_up(kept):
        print(NOT_TRIED)
        sys.exit(1)
    noticed = notice(kept, layer, Path.cwd())
    print(noticed or "no test fails")
    sys.exit(1 if noticed else 0)


def is_up(kept: Path) -> bool:
    """Whether to stop: the file `stop` is there, or MUTATION_UNTIL (seconds since 1970) is past."""
    return (kept / "stop").exists() or time.time() > float(os.environ.get("MUTATION_UNTIL", "inf"))


def notice(kept: Path, layer: str, copy: Path) -> str:
    """What the tests say of the change in `copy`; empty when none fails."""
    module, line = changed(kept / "plain", copy, layer)
    function = function_at((kept / "plain" / module).read_text(encoding="utf-8"), line)
    asked = pick(read(kept / "calls.jsonl"), module, function)
    if not asked:
        return ""
    files = [one.file for one in asked]
    try:
        ran = subprocess.run(
            pytest_words(files),
            cwd=copy,
            env=environment(copy),
            capture_output=True,
            encoding="utf-8",
            timeout=AT_LEAST + TIMES * sum(one.seconds for one in asked),
        )
    except subprocess.TimeoutExpired:
        return ENDLESS
    return ran.stdout[-2000:] if ran.returncode else ""


def changed(plain: Path, copy: Path, layer: str) -> tuple[str, int]:
    """The module and line (from 1) in which the copy differs from the plain tree."""
    for path in sorted((plain / "optimiser" / layer).glob("*.py")):
        module = path.relative_to(plain)
        was, became = path.read_text(encoding="utf-8"), (copy / module).read_text(encoding="utf-8")
        if was != became:
            pairs = zip(was.splitlines(), became.splitlines(), strict=False)
            return str(module), next((n for n, (a, b) in enumerate(pairs, 1) if a != b), 1)
    raise SystemExit("nothing is changed")


if __name__ == "__main__":
    main()
