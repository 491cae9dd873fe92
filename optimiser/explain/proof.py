"""The contradiction summed up in exact fractions, and that sum in words."""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.proof import Cases, Farkas, Feasible, Relaxed, Term
from optimiser.lp.build import PHYSICS
from optimiser.model.rows import Model, Row
from optimiser.requests.sentences import number
from optimiser.solver.highs import solve_lp
from optimiser.solver.interface import Limits, Outcome

MOST_LEAVES = 300
MOST_PIVOTS = 1000


def settle(model: Model, limits: Limits) -> Cases | Feasible | None:
    """A proof by cases, an exact answer, or None when the caps did not settle it."""

    def relaxed(part: Model) -> Relaxed:
        answer = solve_lp(part, limits)
        known = answer.values if answer.has_values else None
        return Relaxed(answer.outcome is Outcome.INFEASIBLE, known, answer.ray, answer.basis)

    return prove_infeasible_by_cases(model, relaxed, max_leaves=MOST_LEAVES, pivots=MOST_PIVOTS)


def in_words(model: Model, proof: Cases) -> tuple[str, ...]:
    """A line for each term of the sum; several leaves are told as cases."""
    rows = {row.name: row for row in model.rows}
    leaves = proof.leaves
    if len(leaves) == 1:
        return _sum(rows, leaves[0])
    return tuple(
        line
        for count, leaf in enumerate(leaves, 1)
        for line in (f"Case {count} of {len(leaves)}:", *_sum(rows, leaf))
    )


def _sum(rows: Mapping[str, Row], leaf: Farkas) -> tuple[str, ...]:
    return (
        *(_term(rows, term) for term in leaf.terms),
        f"together: 0 would have to be at least {number(leaf.gap)}",
    )


def _term(rows: Mapping[str, Row], term: Term) -> str:
    times = number(term.multiplier)
    if term.what == "bound":
        return f"{times} × the {term.side} limit of {term.name}"
    row = rows[term.name]
    limit = row.lower if term.side == "lower" else row.upper
    what = row.sentence or (row.name.removeprefix(f"{PHYSICS}:") if row.rule == PHYSICS else row.name)
    return f"{times} × {what} ({term.side} side, {number(limit) if limit is not None else 'open'})"
