"""The contradiction behind a clash, cut down to what it needs and written as a sum to check by hand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.proof import Cases, Farkas, Split, Term
from optimiser.certify.simplex import solve_exactly
from optimiser.certify.verify import covers
from optimiser.explain.sides import used
from optimiser.lp.build import PHYSICS
from optimiser.model.exact import exact_text
from optimiser.model.rows import Model, Row, Var
from optimiser.solver.highs import Relaxer, solve_milp
from optimiser.solver.interface import Limits, Outcome

NODES = 500


def cut_down(part: Model, proof: Cases) -> tuple[Model, Cases]:
    """The rows that the proof needs, none of which could be spared, and a proof from them alone.

    Where a smaller proof cannot be had, the one given and the rows it uses.
    """
    names = {member.name for member in used(part, proof) if member.what == "row"}
    small = _only(part, names)
    for name in sorted(names, reverse=True):
        fewer = _only(small, {row.name for row in small.rows} - {name})
        if fewer.rows and solve_milp(fewer, Limits(None, NODES)).outcome is Outcome.INFEASIBLE:
            small = fewer
    found = _proved(small, len(proof.leaves))
    return (small, found) if found is not None else (_only(part, names), proof)


def _only(part: Model, names: Iterable[str]) -> Model:
    """The model of these rows and of the variables they speak of."""
    kept = set(names)
    rows = tuple(row for row in part.rows if row.name in kept)
    spoken = {name for row in rows for name, _ in row.coef}
    return replace(part, rows=rows, vars=tuple(v for v in part.vars if v.name in spoken), cost=())


def _proved(small: Model, leaves: int) -> Cases | None:
    exact = solve_exactly(small.relaxed())
    found: object = Cases((exact,)) if isinstance(exact, Farkas) else None
    if found is None:
        found = prove_infeasible_by_cases(small, Relaxer(), max_leaves=leaves, pivots=1000)
    return found if isinstance(found, Cases) and covers(small, found) else None


def sum_in_words(part: Model, proof: Cases) -> tuple[str, ...]:
    """A line for each term, each case by itself; limits of 0 add nothing and are named together."""
    own = {var.name: var for var in part.vars}
    lines: list[str] = []
    waiting: list[tuple[int, tuple[str, ...], dict[str, Var]]] = [(0, (), own)]
    while waiting:
        place, path, here = waiting.pop()
        node = proof.nodes[place]
        if isinstance(node, Split):
            var, title = here[node.var], here[node.var].title or node.var
            above = here | {node.var: replace(var, lower=Fraction(node.at + 1))}
            below = here | {node.var: replace(var, upper=Fraction(node.at))}
            waiting.append((node.above, (*path, _case(var, title, node.at + 1, up=True)), above))
            waiting.append((node.below, (*path, _case(var, title, node.at, up=False)), below))
            continue
        lines += [f"Case: {'; '.join(path)}."] if path else []
        lines += _sum(part, node, here)
    return tuple(lines)


def _case(var: Var, title: str, at: int, *, up: bool) -> str:
    if var.kind == "B":
        return f"{title}: {'yes' if up else 'no'}"
    return f"{title}: {'at least' if up else 'at most'} {at}"


def _sum(part: Model, leaf: Farkas, here: Mapping[str, Var]) -> list[str]:
    rows = {row.name: row for row in part.rows}
    first = next((term.multiplier for term in leaf.terms if term.what == "row"), Fraction(1))
    lines, noughts = [], 0
    for term in leaf.terms:
        if term.what == "row":
            lines.append(_term(rows[term.name], term, term.multiplier / first))
            continue
        limit = getattr(here[term.name], term.side)
        if limit:
            title = here[term.name].title or term.name
            end = "at least" if term.side == "lower" else "at most"
            lines.append(f"{_times(term.multiplier / first)} × ({title}: {end} {exact_text(limit)})")
        noughts += not limit
    if noughts:
        lines.append(
            f"and {noughts} limit{'s' if noughts > 1 else ''} of 0, such as that no share is below 0"
        )
    return [*lines, f"together: 0 would have to be at least {_times(leaf.gap / first)}"]


def _term(row: Row, term: Term, times: Fraction) -> str:
    limit = row.lower if term.side == "lower" else row.upper
    what = row.sentence.rstrip(".") or row.name.removeprefix(f"{PHYSICS}:")
    end = "at least" if term.side == "lower" else "at most"
    return f"{_times(times)} × ({what}; as a row: {end} {exact_text(limit or Fraction(0))})"


def _times(value: Fraction) -> str:
    return exact_text(value)
