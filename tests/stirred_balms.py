"""Invented trials of the demo's balm at two speeds of stirring and on two days, beside the demo worktable."""

from __future__ import annotations

from pathlib import Path

from optimiser.workflows.worktable import start_worktable
from tests.trials_of_a_balm import STILL

BLENDS = (("5", "8"), ("5", "16"), ("11", "8"), ("11", "16"), ("8", "12"), ("8", "8"))
"""Beeswax and shea butter in %; sunflower oil makes up the rest."""
SPEEDS = ("400", "1200")
MISSES = (2, -1, 0, 1, -2, 1, -1, 0, 2, -2, 1, -1)
"""Hundredths that a score is off, invented."""


def true(wax: float, butter: float, counted: float) -> float:
    """Softness by the part that each line is of the three, and by the speed, from -1 to 1."""
    parts = wax / 68.2, butter / 68.2
    oil = 1 - sum(parts)
    return 11 * oil + 18 * parts[1] - 34 * parts[0] + counted * (0.4 * oil + 2 * parts[1] - 5 * parts[0])


def stirred_balms(folder: Path, *, day_off: float = 0.0, planned: bool = False) -> Path:
    """The demo worktable with stir-1 … stir-12 of 100 g: six blends at two speeds, every other a day later.

    Scores of the second day are `day_off` higher; `planned` ones say which day of the plan they belong to.
    """
    start_worktable(folder)
    (folder / "trials").mkdir()
    both = [(wax, butter, speed) for speed in (0, 1) for wax, butter in BLENDS]
    for number, (wax, butter, speed) in enumerate(both):
        second = (number + speed) % 2
        score = true(float(wax), float(butter), 2 * speed - 1) + MISSES[number] / 100 + second * day_off
        text = _trial(number + 1, wax, butter, SPEEDS[speed], f"{score:.2f}", second, planned=planned)
        (folder / "trials" / f"stir-{number + 1}.yaml").write_text(text, "utf-8")
    return folder


def _trial(number: int, wax: str, butter: str, speed: str, score: str, second: int, *, planned: bool) -> str:
    lines = {
        "sunflower-oil": f"{68.2 - float(wax) - float(butter):g}",
        "beeswax": wax,
        "shea-butter": butter,
        **STILL,
    }
    told = "".join(f"- {{phase: A, ingredient: {name}, grams: {share} g}}\n" for name, share in lines.items())
    day = f"day: 2026-11-0{2 + second}, what"
    entries = [f"weighed, ingredient: {name}, grams: {share} g" for name, share in lines.items()]
    entries += [
        f"made, measure: stirring, value: {speed}, unit: rpm",
        f"felt, measure: softness, value: {score}",
    ]
    written = "".join(f"- {{n: {n}, {day}: {what}}}\n" for n, what in enumerate(entries, 1))
    block = f"block: 2026-11-02 day {1 + second}\n" if planned else ""
    return (
        f"format: 1\ntrial: stir-{number}\nformula: sunflower-balm\nopened: 2026-11-02\nbatch: 100 g\n"
        f"{block}lines:\n{told}entries:\n{written}"
    )
