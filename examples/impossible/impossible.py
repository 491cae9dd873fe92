"""A mask that cannot be: which rules clash, what would cure it, the formula it gives. Invented demo data."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from optimiser.domain.outcome import Impossible
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose
from optimiser.workflows.worktable import open_worktable, start_worktable


def main() -> None:
    with TemporaryDirectory() as folder:
        sources = open_worktable(start_worktable(Path(folder) / "demo").folder)
    outcome = propose(sources, ask(sources, "oat-rose-mask", {"briefs": ["impossible-clay"]}))
    if not isinstance(outcome, Impossible):
        raise SystemExit("the request was not found impossible")
    print(f"found impossible by: {', '.join(outcome.agreed)}")
    show_conflict(outcome)
    print("\nwhat would cure it")
    for concession in outcome.concessions:
        print(f"  {concession.sentence}")
    cured = next(c.proposal for c in outcome.concessions if c.proposal is not None)
    print("\nthe formula of the smallest concession")
    for line in cured.lines:
        print(f"  {line.ingredient:20}{float(line.percent):9.3f} %")
    print(f"  {'total':20}{float(sum(line.percent for line in cured.lines)):9.3f} %")


def show_conflict(outcome: Impossible) -> None:
    for conflict in outcome.conflicts:
        certified = "summed up in exact fractions" if conflict.certified else "not certified"
        print(f"\nrules that cannot hold together ({certified})")
        witnesses = {witness.rule: witness for witness in conflict.witnesses}
        for rule in conflict.rules:
            lines = len(witnesses[rule.head.id].lines)
            print(f"  {rule.head.sentence}")
            print(f"    the other one alone can be met, with {lines} lines")


if __name__ == "__main__":
    main()
