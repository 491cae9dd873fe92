"""A worktable with twelve faults over its files: all are listed with their lines, and nothing else."""

from __future__ import annotations

from pathlib import Path

from optimiser.loading.worktable import load_worktable

FOLDER = Path(__file__).parents[2] / "data" / "twelve_faults"
FAULTS = [
    ("worktable.yaml", 4, "", '"1.11.2026"', "year-month-day"),
    ("ingredients.csv", 3, "use_min", "30 above 1", "swap them"),
    ("ingredients.csv", 10, "id", 'very like "vitamin-e" on line 9', "rename"),
    ("clashes.csv", 3, "a", '"gum-anion"', 'did you mean "gum-anionic"?'),
    ("composition.csv", 4, "share", "101 %", ""),
    ("flags.csv", 3, "flag", '"tree-nuts"', 'did you mean "tree-nut"?'),
    ("process.csv", 3, "stage", '"slury"', 'did you mean "slurry"?'),
    ("properties.csv", 3, "low", "2.7 above 2.5", "swap them"),
    ("properties.csv", 5, "low", '"1,000"', "write 1 or 1000"),
    ("shelf.csv", 3, "ingredient", '"glycerine"', 'did you mean "glycerin"?'),
    ("briefs/softer.yaml", 5, "", '"10 %"', 'write "10 % of base"'),
    ("formulas/mask.yaml", 15, "", "another one", "water on line 13"),
]


def test_all_twelve_are_listed_with_their_lines_and_nothing_else() -> None:
    worktable, problems = load_worktable(FOLDER)
    assert worktable is None
    assert [(p.file, p.line, p.cell) for p in problems] == [fault[:3] for fault in FAULTS]
    for problem, (*_, found, fix) in zip(problems, FAULTS, strict=True):
        assert found in problem.found, problem.sentence()
        assert fix in problem.fix, problem.sentence()
