"""The changes that no test noticed and nothing explains, tried on the tree and with the tests of today.

So are those with which the tests had no end: a test may say so at once by now.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from tests.mutation.layers import ROOT
from tests.mutation.notice import ENDLESS, is_up, notice
from tests.mutation.noticing import copy_tree, environment, learn, pytest_words
from tests.mutation.report import GONE, NOTICED, SURVIVED, TIMEOUT, Mutant, explanations

OPEN = (SURVIVED, TIMEOUT)
Keep = Callable[[Path, Mutant, str, str], None]


def try_again(kept: Path, layers: Mapping[str, Sequence[Mutant]], keep: Keep) -> None:
    """Tries the survivors of each layer; `keep` is told what came of each."""
    today, before = kept / "today", kept / "before"
    shutil.rmtree(before, ignore_errors=True)
    if today.exists():
        today.rename(before)
    copy_tree(ROOT, today / "plain")
    _learn_anew([kept, before], today)
    copy_tree(today / "plain", today / "changed")
    explained = explanations()
    for mutants in layers.values():
        for mutant in (one for one in mutants if one.outcome in OPEN and one.key not in explained):
            if is_up(kept):
                return
            keep(kept, mutant, *_try(today, mutant))


def _learn_anew(earlier: Sequence[Path], today: Path) -> None:
    """Only test files that are not as they once were are run again to learn what they call."""
    same: dict[str, str] = {}
    for one in (one for one in earlier if (one / "calls.jsonl").exists()):
        for line in (one / "calls.jsonl").read_text(encoding="utf-8").splitlines():
            file = json.loads(line)["file"]
            was, now = one / "plain" / file, today / "plain" / file
            if now.exists() and was.read_bytes() == now.read_bytes():
                same[file] = line + "\n"
    (today / "calls.jsonl").write_text("".join(same.values()), encoding="utf-8")
    learn(today / "plain", today / "calls.jsonl")


def _try(today: Path, mutant: Mutant) -> tuple[str, str]:
    plain, copy = today / "plain", today / "changed"
    source = plain / mutant.module
    became = apply(source.read_text(encoding="utf-8"), mutant.diff) if source.exists() else None
    if became is None:
        return GONE, "the code is another now"
    (copy / mutant.module).write_text(became, encoding="utf-8")
    try:
        said = notice(today, mutant.layer, copy)
    finally:
        shutil.copy(source, copy / mutant.module)
    if said == ENDLESS:
        return TIMEOUT, said
    return (NOTICED, said) if said and _passes_without(plain, said) else (SURVIVED, said)


def _passes_without(plain: Path, said: str) -> bool:
    """Whether what failed passes where nothing is changed, so that the change is what it noticed."""
    failed = re.findall(r"^(?:FAILED|ERROR) (\S+?)(?:\[.*)?(?: - .*)?$", said, re.MULTILINE)
    ran = subprocess.run(pytest_words(failed), cwd=plain, env=environment(plain), capture_output=True)
    return bool(failed) and ran.returncode == 0


def apply(source: str, diff: str) -> str | None:
    """The source with the change made, wherever its lines stand now; None when they are not there once."""
    hunk = [line for line in diff.splitlines() if line[:1] in " -+" and line[:3] not in ("---", "+++")]
    if not hunk:
        return None
    lines = source.split("\n")
    for context in range(3, -1, -1):
        near = _with_context(hunk, context)
        was = [line[1:] for line in near if line[0] != "+"]
        places = [n for n in range(len(lines)) if lines[n : n + len(was)] == was]
        if len(places) == 1:
            became = [line[1:] for line in near if line[0] != "-"]
            return "\n".join([*lines[: places[0]], *became, *lines[places[0] + len(was) :]])
    return None


def _with_context(hunk: Sequence[str], context: int) -> list[str]:
    """The changed lines and so many around them."""
    moved = [n for n, line in enumerate(hunk) if line[0] != " "]
    return list(hunk[max(0, moved[0] - context) : moved[-1] + 1 + context])
