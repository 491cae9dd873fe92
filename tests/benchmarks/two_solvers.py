"""HiGHS and CBC on the same random requests; every proposal judged again, every 'impossible' proved.

`python -m tests.benchmarks.two_solvers 2000` asks the first 2,000 and prints what was found; a request is
named by its seed, and `--from N` starts elsewhere.
"""

from __future__ import annotations

import argparse
import itertools
import json
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from optimiser.checks.judge import broken, judge
from optimiser.domain.outcome import Impossible, Proposal
from optimiser.domain.request import GRID, Request, Slot
from optimiser.explain.impossible import explain_impossible
from optimiser.lp.aims import objectives, wish_cost
from optimiser.lp.build import build
from optimiser.model.rows import Model
from optimiser.search.propose import search, silent
from optimiser.solver.interface import Limits, Solution
from optimiser.solver.pulp_backend import solve
from tests.benchmarks.requests import OF_DEMO, random_request

NEAR = 1e-6
LIMITS = Limits(seconds=60)


@dataclass(frozen=True, slots=True)
class Told:
    """What became of a request: `end` in a word, `faults` what must not be, `why` of an undecided one."""

    seed: int
    end: str
    faults: tuple[str, ...] = ()
    why: str = ""


def first_stage(request: Request) -> Model:
    """The request's rows with the first aim's cost, in the linear form that both solvers read."""
    aim = objectives(request)[0]
    model = build(request)
    known = {var.name for var in model.vars}
    fresh = tuple(var for var in aim.vars if var.name not in known)
    model = replace(model, vars=(*model.vars, *fresh)).with_rows(aim.rows)
    rank = aim.name.removeprefix("wishes of rank ")
    return model.with_cost(wish_cost(request, model, int(rank)) if rank != aim.name else aim.cost)


def apart(model: Model) -> str:
    """How the two solvers differ on a model, or nothing."""
    one, two = solve(model, limits=LIMITS), solve(model, engine="cbc", limits=LIMITS)
    if one.outcome is not two.outcome:
        return f"HiGHS says {one.outcome.value}, CBC {two.outcome.value}"
    if one.objective is None or two.objective is None:
        return ""
    return "" if _same(one, two) else f"HiGHS reaches {one.objective!r}, CBC {two.objective!r}"


def _same(one: Solution, two: Solution) -> bool:
    a, b = one.objective or 0.0, two.objective or 0.0
    return abs(a - b) <= NEAR * max(1.0, abs(a), abs(b))


def told(seed: int) -> Told:
    """One request from end to end."""
    request = random_request(seed)
    faults = [fault for fault in [apart(first_stage(request))] if fault]
    found = search(request, limits=LIMITS)
    if found.proposals:
        faults += _unsound(found.proposals[0], request)
        return Told(seed, "proposal", tuple(faults))
    if not (found.infeasible or found.off_grid):
        return Told(seed, "undecided", tuple(faults), found.why)
    outcome = explain_impossible(request, (), LIMITS, off_grid=found.off_grid, tell=silent)
    if not isinstance(outcome, Impossible):
        return Told(seed, "undecided", tuple(faults), outcome.why)
    (conflict,) = outcome.conflicts
    faults += [] if conflict.certified else ["impossible without a proof in fractions"]
    faults += [] if conflict.minimal else ["a conflict that was not shown minimal"]
    for cure in outcome.concessions:
        if cure.proposal is not None and cure.enough != "together":
            others = tuple(rule for rule in request.rules if rule.head.id != cure.rule.head.id)
            faults += _unsound(cure.proposal, replace(request, rules=others))
    return Told(seed, "impossible", tuple(faults))


def _unsound(proposal: Proposal, request: Request) -> list[str]:
    shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
    failed = [verdict.rule.head.id for verdict in broken(judge(request, shares))]
    found = [f"the judge refuses it: {', '.join(failed)}"] if failed else []
    if sum(shares.values()) != 100 or any((share / GRID).denominator != 1 for share in shares.values()):
        found.append("not 100 % in whole steps")
    return found


def summed_up(answers: Iterable[Told]) -> dict[str, object]:
    """The figures of a run."""
    all_of = list(answers)
    ends, why = Counter(one.end for one in all_of), Counter(one.why for one in all_of if one.why)
    return {
        "requests": len(all_of),
        "ends": dict(sorted(ends.items())),
        "undecided because": dict(sorted(why.items())),
        "faults": [f"{one.seed}: {fault}" for one in all_of for fault in one.faults],
    }


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("count", type=int, nargs="?", default=2000)
    said.add_argument("--from", dest="first", type=int, default=0)
    said.add_argument("--small", action="store_true", help="of the small worktable only")
    said.add_argument("--into", type=Path, help="write the figures as JSON")
    asked = said.parse_args()
    answers: list[Told] = []
    seeds = (seed for seed in itertools.count(asked.first) if not asked.small or seed % OF_DEMO)
    for seed in itertools.islice(seeds, asked.count):
        answers.append(told(seed))
        one = answers[-1]
        if one.faults or one.why or len(answers) % 100 == 0:
            sys.stdout.write(f"{seed}: {one.end} {'; '.join(one.faults)} {one.why}\n")
            sys.stdout.flush()
    figures = json.dumps(summed_up(answers), indent=2)
    sys.stdout.write(figures + "\n")
    if asked.into:
        asked.into.write_text(figures + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
