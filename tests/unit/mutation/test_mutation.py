"""The pure parts of the runner that changes the code: what it picks, makes of a change, and tells."""

from __future__ import annotations

import difflib
import json

import pytest

from tests.mutation.again import apply
from tests.mutation.noticing import ENOUGH, Asked, function_at, pick
from tests.mutation.report import (
    BROKEN,
    EXPLAINED,
    GONE,
    NOTICED,
    PAGE,
    START,
    SURVIVED,
    TIMEOUT,
    UNKNOWN,
    Mutant,
    Sample,
    outcome_of,
    scores,
    survivors,
    why_of,
)

MODULE = "optimiser/lp/some.py"
SOURCE = "\n".join(f"line {n}" for n in range(20))


def change(was: str, became: str) -> str:
    lines = difflib.unified_diff(was.split("\n"), became.split("\n"), "a", "b", lineterm="")
    return "\n".join(["--- mutation diff ---", *lines])


def mutant(became: str, *, first: str = SURVIVED, now: str | None = None, line: int = 3) -> Mutant:
    diff = f"--- a\n+++ b\n@@ -{line} +{line} @@\n-a <= b\n+{became}"
    return Mutant(f"{became}{line}", "lp", MODULE, "f", line, first, now, diff)


def asked(file: str, seconds: float, *calls: str, passes: bool = True) -> Asked:
    return Asked(file, seconds, passes, frozenset(f"{MODULE}:{call}" for call in calls))


def test_the_layer_s_own_tests_come_first_and_then_the_quickest() -> None:
    known = [
        asked("tests/published/slow.py", 9, "f"),
        asked("tests/published/quick.py", 1, "f"),
        asked("tests/unit/lp/own.py", 20, "f"),
        asked("tests/unit/lp/other.py", 1, "g"),
        asked("tests/unit/lp/broken.py", 1, "f", passes=False),
    ]
    found = [one.file for one in pick(known, MODULE, "f")]
    assert found == ["tests/unit/lp/own.py", "tests/published/quick.py", "tests/published/slow.py"]


def test_no_more_tests_than_there_is_time_for_but_one_always() -> None:
    long = [asked(name, ENOUGH * 0.75, "f") for name in ("a", "b")]
    assert [one.file for one in pick([*long, asked("c", ENOUGH, "f")], MODULE, "f")] == ["a"]
    assert [one.file for one in pick([asked("a", 2 * ENOUGH, "f")], MODULE, "f")] == ["a"]


@pytest.mark.parametrize("function", [None, "never_called"])
def test_what_stands_outside_what_tests_call_is_shown_to_all_of_the_module(function: str | None) -> None:
    assert [one.file for one in pick([asked("a", 1, "f"), asked("b", 2)], MODULE, function)] == ["a"]


def test_the_function_around_a_line() -> None:
    inner = "        def inner():\n            return 1\n        return inner\n"
    source = f"X = 1\nclass A:\n    def m(self):\n{inner}"
    assert [function_at(source, line) for line in (1, 3, 5, 6)] == [None, "A.m", "A.m.inner", "A.m"]


def test_a_change_is_made_again_where_its_lines_have_moved_to() -> None:
    diff = change(SOURCE, SOURCE.replace("line 7", "line seven"))
    later = "new\n" + SOURCE.replace("line 5", "line five")
    assert apply(later, diff) == later.replace("line 7", "line seven")


def test_a_change_is_not_made_where_its_line_is_gone_or_stands_twice() -> None:
    diff = change(SOURCE, SOURCE.replace("line 7", "line seven"))
    assert apply(SOURCE.replace("line 7", "another"), diff) is None
    twice = "line 7\nx\nline 7"
    assert apply(twice, diff) is None
    assert apply(SOURCE, "") is None


@pytest.mark.parametrize(
    ("kept", "told"),
    [
        (("NORMAL", "SURVIVED", ""), SURVIVED),
        (("NORMAL", "KILLED", "1 failed"), NOTICED),
        (("NORMAL", "KILLED", "timeout\n"), TIMEOUT),
        (("NORMAL", "INCOMPETENT", ""), BROKEN),
        (("EXCEPTION", "INCOMPETENT", ""), BROKEN),
        (("NO_TEST", None, ""), BROKEN),
    ],
)
def test_what_came_of_a_change(kept: tuple[str, str | None, str], told: str) -> None:
    assert outcome_of(*kept) == told


def test_the_score_counts_neither_what_could_not_be_tried_nor_what_is_gone() -> None:
    mutants = (
        mutant("a", first=NOTICED),
        mutant("b", first=TIMEOUT),
        mutant("c", first=BROKEN),
        mutant("d"),
        mutant("e", now=NOTICED),
        mutant("f", now=GONE),
    )
    told = scores([Sample("lp", 100, 1, mutants)]).splitlines()
    assert told[2] == "| lp | 100 | 5 | 3 | 40 % | 1 | 75 % |"
    assert told[3] == "| all | 100 | 5 | 3 | 40 % | 1 | 75 % |"


def test_an_explanation_stands_for_one_place_only() -> None:
    one, other = mutant("a < b"), mutant("a < b", line=9)
    explained = {f"{MODULE} f: a < b": "equal values give the same"}
    assert why_of(one, [one], explained) == "equal values give the same"
    assert why_of(one, [one, other], explained) == UNKNOWN


def test_a_bar_in_the_code_does_not_end_the_cell() -> None:
    row = survivors([Sample("lp", 1, 1, (mutant("a | b"),))], {}).splitlines()[2]
    assert row == f"| lp/some, f | `` a <= b `` | `` a \\| b `` | {UNKNOWN} |"


def test_what_goes_unnoticed_is_looked_into() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert START in page
    assert "| all |" in page
    assert UNKNOWN not in page


def test_explanations_are_sentences() -> None:
    explained = json.loads(EXPLAINED.read_text(encoding="utf-8"))
    assert all(key.startswith("optimiser/") and why.strip().endswith(".") for key, why in explained.items())
