"""responses/*.yaml: what is wrong with one is said with its line, all at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.loading.worktable import load_worktable
from tests.unit.loading.folders import MASK, SOUND

GOOD = """\
format: 1
name: softness
scale: [0, 10]
model: quadratic
varied:
  kaolin: [14, 20]
  glycerin: [3, 8]
  water: [70, 80]
together: [98, 100]
others: {xanthan: [0.36, 0.44]}
terms: {kaolin: 2, glycerin: 30, water: 5, kaolin * glycerin: -6.5}
deviation: 0.2
freedom: 5
sure: 2.015
covariance:
- [0.09, 0, 0, 0]
- [0, 0.09, 0, 0]
- [0, 0, 0.09, 0.01]
- [0, 0, 0.01, 0.09]
trials: [mask-1, mask-2]
fitted: 2026-11-25
"""
TARGET = "targets:\n  - response: {softness: {at_least: 7}}\n"


def folder(at: Path, response: str, targets: str = TARGET) -> Path:
    for name, text in SOUND.items():
        (at / name).write_text(text, "utf-8")
    for part, text in (("responses/softness", response), ("formulas/mask", MASK + targets)):
        path = at / f"{part}.yaml"
        path.parent.mkdir()
        path.write_text(text, "utf-8")
    return at


def test_a_sound_response_is_read_and_asked_for(tmp_path: Path) -> None:
    worktable, problems = load_worktable(folder(tmp_path, GOOD))
    assert not problems
    assert worktable is not None
    own = worktable.responses["softness"]
    assert own.terms[-1] == ("kaolin", "glycerin")
    assert not own.straight
    assert own.known == {"kaolin", "glycerin", "water", "xanthan"}
    assert worktable.formulas["mask"].targets[0].name == "softness"


@pytest.mark.parametrize(
    ("old", "new", "line", "told"),
    [
        ("format: 1", "format: 9", 1, "it may be from a newer version"),
        ("model: quadratic", "model: cubic", 4, "linear"),
        ("kaolin: [14, 20]", "kaolin: [20, 14]", 5, "the lower number first"),
        ("kaolin: [14, 20]", "kaolin: [14, 200]", 5, "shares from 0 to 100 %"),
        ("  kaolin: [14", "  kaolinn: [14", 6, "an ingredient of ingredients.csv"),
        ("{xanthan: [", "{water: [", 5, "each ingredient once"),
        ("kaolin * glycerin", "kaolin * benzoate", 11, "an ingredient of varied"),
        ("kaolin * glycerin", "kaolin * kaolin", 11, "up to three different ingredients"),
        ("water: 5,", "", 11, "a term for each ingredient of varied"),
        ("deviation: 0.2", "deviation: -1", 12, "a number of 0 or more"),
        ("freedom: 5", "freedom: 0", 13, "a whole number above 0"),
        ("freedom: 5", "freedom: 2.5", 13, "a whole number above 0"),
        ("sure: 2.015", "sure: many", 14, "a number"),
        ("- [0, 0, 0.01, 0.09]\n", "", 15, "4 rows of 4 numbers"),
        ("- [0, 0, 0.01, 0.09]", "- [0, 0, 0.02, 0.09]", 15, "the same number on both sides"),
        ("[0.09, 0, 0, 0]", "[-0.09, 0, 0, 0]", 15, "nothing below 0 on the diagonal"),
        ("fitted: 2026-11-25", "fitted: yesterday", 21, "a date such as 2026-11-01"),
        ("trials: [", "surprise: [", 20, "a known key"),
        ("scale: [0, 10]", "lows: {kaolin: 0.6, water: 0.5}", 3, "parts of 0 or more"),
        ("model: quadratic", "model: [linear]", 4, "one value after model:"),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path: Path, old: str, new: str, line: int, told: str) -> None:
    assert old in GOOD
    worktable, problems = load_worktable(folder(tmp_path, GOOD.replace(old, new)))
    assert worktable is None
    own = [one for one in problems if one.file == "responses/softness.yaml"]
    assert [one for one in own if one.line == line and told in f"{one.expected} {one.fix}"], own


@pytest.mark.parametrize(
    ("target", "told"),
    [
        ("{softnes: {at_least: 7}}", 'did you mean "softness"?'),
        ("{softness: {within: 7}}", ""),
        ("{softness: {at_least: 7 %}}", "write 7"),
        ("{softness: 7}", ""),
        ("softness", ""),
        ("{softness: {at_least: 7}, other: {at_least: 7}}", ""),
    ],
)
def test_a_rule_that_asks_wrongly(tmp_path: Path, target: str, told: str) -> None:
    worktable, problems = load_worktable(folder(tmp_path, GOOD, f"targets:\n  - response: {target}\n"))
    assert worktable is None
    assert any(one.file == "formulas/mask.yaml" and told in one.fix for one in problems), problems


def test_a_file_without_end_is_refused_not_run(tmp_path: Path) -> None:
    many = ", ".join(f"kaolin * water{n}: 1" for n in range(500))
    worktable, problems = load_worktable(folder(tmp_path, GOOD.replace("kaolin * glycerin: -6.5", many)))
    assert worktable is None
    assert any("1 to 100 terms" in one.expected for one in problems)
