"""Nine invented trials of the demo's balm, scored for softness, beside the demo worktable."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from optimiser.workflows.worktable import start_worktable

STILL = {"coconut-mct": "22", "polyglyceryl-4-caprate": "9", "vitamin-e": "0.5", "sweet-orange-oil": "0.3"}
TRIALS = (
    ("5", "8", "8.4"),
    ("5", "16", "8.9"),
    ("11", "8", "4.2"),
    ("11", "16", "5.1"),
    ("8", "12", "7.2"),
    ("8", "12", "7.0"),
    ("5", "12", "8.9"),
    ("11", "12", "4.9"),
    ("8", "16", "7.5"),
)
"""Beeswax and shea butter in % and the score; sunflower oil makes up the rest."""


def balm_with_trials(folder: Path, count: int = len(TRIALS)) -> Path:
    """The demo worktable with trials balm-1 … balm-9 of 100 g."""
    start_worktable(folder)
    (folder / "trials").mkdir()
    for number, (wax, butter, score) in enumerate(TRIALS[:count], 1):
        (folder / "trials" / f"balm-{number}.yaml").write_text(_trial(number, wax, butter, score), "utf-8")
    return folder


def _trial(number: int, wax: str, butter: str, score: str) -> str:
    oil = 100 - sum(float(value) for value in (*STILL.values(), wax, butter))
    lines = {"sunflower-oil": f"{oil:g}", "beeswax": wax, "shea-butter": butter, **STILL}
    told = "".join(f"- {{phase: A, ingredient: {name}, grams: {share} g}}\n" for name, share in lines.items())
    return (
        f"format: 1\ntrial: balm-{number}\nformula: sunflower-balm\nopened: 2026-11-0{number}\nbatch: 100 g\n"
        f"lines:\n{told}entries:\n{_entries(number, lines, score)}"
    )


def _entries(number: int, lines: Mapping[str, str], score: str) -> str:
    day = f"day: 2026-11-0{number}, what"
    weighed = [f"weighed, ingredient: {name}, grams: {share} g" for name, share in lines.items()]
    told = [f"felt, measure: softness, value: {score}", *weighed]
    return "".join(f"- {{n: {count}, {day}: {what}}}\n" for count, what in enumerate(told, 1))
