"""A clock set back changes no answer: none is read, but for the day that a person's entry is dated."""

from __future__ import annotations

import ast
import itertools
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

import optimiser
from optimiser.search.propose import search
from optimiser.solver.interface import Limits
from tests.small import CLAY, NO_STRONG, request

PACKAGE = Path(optimiser.__file__).parent
CLOCKS = {"now", "today", "utcnow", "time", "time_ns", "localtime", "gmtime", "ctime"}
DATED = {"cli/trial_fit.py", "cli/trial_learn.py", "page/show.py"}
"""Where the day is read that is written beside what a person does today."""


def clocks_read() -> Iterator[tuple[str, int]]:
    """(file, line) of every call of a clock that can be set; `time.monotonic` cannot."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                owner = node.func.value
                of_time = isinstance(owner, ast.Name) and owner.id in ("time", "datetime", "date")
                if of_time and node.func.attr in CLOCKS:
                    yield path.relative_to(PACKAGE).as_posix(), node.lineno


def test_only_the_day_of_an_entry_is_read_from_the_clock() -> None:
    assert {file for file, _ in clocks_read()} == DATED


def test_a_clock_that_runs_backwards_changes_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = request(CLAY, NO_STRONG)
    before = search(asked, alternatives=2, limits=Limits())
    backwards = itertools.count(2_000_000_000, -86_400)
    monkeypatch.setattr(time, "time", lambda: float(next(backwards)))
    monkeypatch.setattr(time, "time_ns", lambda: next(backwards) * 10**9)
    assert search(asked, alternatives=2, limits=Limits()) == before
