"""The demo mask without strong clay: old and new side by side, and what it keeps. Invented demo data."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory

from optimiser.domain.outcome import Proposal, Proposals
from optimiser.domain.rules import Covers
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose
from optimiser.workflows.worktable import open_worktable, start_worktable


def main() -> None:
    with TemporaryDirectory() as folder:
        sources = open_worktable(start_worktable(Path(folder) / "demo").folder)
    outcome = propose(sources, ask(sources, "oat-rose-mask", {"briefs": ["sensitive-skin"]}))
    if not isinstance(outcome, Proposals):
        raise SystemExit("no proposal was found")
    best = outcome.proposals[0]
    show_lines(best)
    flags = {line.ingredient: sources.worktable.ingredients[line.ingredient] for line in best.lines}
    strong = [name for name, one in flags.items() if one.flag("strong-clay") != "free"]
    print(f"\nlines that are, or may be, strong clay: {', '.join(strong) or 'none'}")
    for measure in best.measures:
        if measure.name in ("share of clay", "level of thickening"):
            print(f"{measure.name}: {plain(measure.base)} -> {plain(measure.value)} {measure.unit}")
    covered = sorted(v.rule.group for v in best.verdicts if isinstance(v.rule, Covers) and v.met)
    print(f"covered on paper: {', '.join(covered)} (only a challenge test shows whether it holds)")
    print(f"every rule met, as the judge finds: {all(v.met for v in best.verdicts)}")
    print(f"proved that nothing departs less: {best.stages[0].optimal}")


def show_lines(proposal: Proposal) -> None:
    print(f"{'ingredient':20}{'base %':>9}{'new %':>9}")
    for line in proposal.lines:
        print(f"{line.ingredient:20}{float(line.base):9.3f}{float(line.percent):9.3f}")
    for change in proposal.changes:
        if not change.after:
            print(f"{change.ingredient:20}{float(change.before):9.3f}{'out':>9}")


def plain(value: Fraction | None) -> str:
    return "not known" if value is None else f"{float(value):.3f}"


if __name__ == "__main__":
    main()
