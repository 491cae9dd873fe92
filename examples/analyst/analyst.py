"""Every demo formula under every brief as one table; then one model checked with HiGHS by itself.

Invented demo data. Usage: python analyst.py [TABLE.csv]
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import highspy

from optimiser.domain.outcome import Impossible, Outcome, Proposals
from optimiser.errors import RefusedError
from optimiser.requests.sources import Sources
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose
from optimiser.workflows.solve_model import solve_file
from optimiser.workflows.worktable import open_worktable, start_worktable
from optimiser.workflows.write_model import write_models

HEADS = ("formula", "brief", "outcome", "departure", "cost_per_kg", "newcomers", "said")
SHOWN = ("no-strong-clay", "nut-free")


def main() -> None:
    with TemporaryDirectory() as scratch:
        folder = Path(scratch)
        sources = open_worktable(start_worktable(folder / "demo").folder)
        whole = len(sys.argv) > 1
        briefs = sorted(sources.worktable.briefs) if whole else SHOWN
        out = open(sys.argv[1], "w", encoding="utf-8", newline="") if whole else sys.stdout  # noqa: SIM115, PTH123
        table = csv.writer(out, lineterminator="\n")
        table.writerow(HEADS)
        table.writerows(rows(sources, tuple(briefs)))
        out.flush()
        check_one(sources, folder)


def rows(sources: Sources, briefs: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """One row for each formula and brief, in the order of their ids."""
    for formula in sorted(sources.worktable.formulas):
        for brief in briefs:
            try:
                outcome = propose(sources, ask(sources, formula, {"briefs": [brief], "seconds": 60}))
            except RefusedError as fault:
                yield formula, brief, "refused", "", "", "", fault.what
                continue
            yield formula, brief, *told(outcome)


def told(outcome: Outcome) -> tuple[str, ...]:
    if isinstance(outcome, Proposals):
        best = outcome.proposals[0]
        departure = sum((part for _, part in best.departure_parts), start=best.departure_parts[0][1] * 0)
        came = sorted({line.ingredient for line in best.lines} & outcome.request.newcomers)
        cost = "" if best.cost_per_kg is None else f"{float(best.cost_per_kg):.2f}"
        return "proposal", f"{float(departure):.2f}", cost, " ".join(came), ""
    if isinstance(outcome, Impossible):
        return "impossible", "", "", "", " / ".join(r.head.sentence for r in outcome.conflicts[0].rules)
    return "undecided", "", "", "", outcome.why


def check_one(sources: Sources, folder: Path) -> None:
    """The mask's model from its MPS file, solved by HiGHS alone, beside our own exact answer."""
    asked = ask(sources, "oat-rose-mask", {"briefs": ["no-strong-clay"]})
    neutral, mps = write_models(sources, asked, folder / "mask.json")
    solver = highspy.Highs()  # type: ignore[no-untyped-call]  # highspy has no types here
    solver.silent()
    solver.readModel(str(mps))
    solver.run()
    ours = solve_file(neutral)
    print(f"\nHiGHS alone on the MPS: {solver.getInfo().objective_function_value:.6f}")
    print(f"our answer to the JSON: {float(ours.objective or 0):.6f}")


if __name__ == "__main__":
    main()
