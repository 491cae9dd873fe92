"""Sums a proof up again, from the model's own numbers. Shares no code with what found the proof."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction

from optimiser.certify.proof import Cases, Farkas, Feasible, Optimum, Split, Unbounded
from optimiser.model.rows import Model

NOUGHT = Fraction(0)


def adds_up(model: Model, proof: Farkas) -> bool:
    """True when the terms exist, are positive, cancel every variable and leave `0 >= gap` with gap > 0."""
    rows = {row.name: row for row in model.rows}
    variables = {var.name: var for var in model.vars}
    left: dict[str, Fraction] = defaultdict(Fraction)
    right = NOUGHT
    for term in proof.terms:
        if term.multiplier <= 0:
            return False
        source = rows.get(term.name) if term.what == "row" else variables.get(term.name)
        limit = None if source is None else (source.lower if term.side == "lower" else source.upper)
        if limit is None:
            return False
        factor = term.multiplier if term.side == "lower" else -term.multiplier
        right += factor * limit
        for name, coef in rows[term.name].coef if term.what == "row" else ((term.name, Fraction(1)),):
            left[name] += factor * coef
    return right > 0 and right == proof.gap and not any(left.values())


def is_optimal(model: Model, found: Optimum) -> bool:
    """True when the values meet rows and limits, and the duals show that nothing can be better."""
    if model.relaxed().violations(found.values) or model.evaluate(found.values) != found.objective:
        return False
    sign = -1 if model.sense == "max" else 1
    rest: dict[str, Fraction] = defaultdict(Fraction, model.cost)
    for row in model.rows:
        for name, coef in row.coef:
            rest[name] -= found.duals[row.name] * coef
    if any(rest[var.name] != found.reduced[var.name] for var in model.vars):
        return False
    bound = model.constant
    sides = [(found.duals[row.name], row.lower, row.upper) for row in model.rows]
    sides += [(found.reduced[var.name], var.lower, var.upper) for var in model.vars]
    for dual, lower, upper in sides:
        limit = lower if sign * dual > 0 else upper
        if dual and limit is None:
            return False
        bound += dual * (limit or NOUGHT)
    return bound == found.objective


def is_unbounded(model: Model, found: Unbounded) -> bool:
    """True when the values are an answer and the direction keeps it one while the cost gets better."""
    if model.relaxed().violations(found.values):
        return False
    moves = [
        (sum((c * found.direction[n] for n, c in row.coef), start=NOUGHT), row.lower, row.upper)
        for row in model.rows
    ]
    moves += [(found.direction[var.name], var.lower, var.upper) for var in model.vars]
    if any(
        (move < 0 and lower is not None) or (move > 0 and upper is not None) for move, lower, upper in moves
    ):
        return False
    gain = sum((c * found.direction[n] for n, c in model.cost), start=NOUGHT)
    return gain < 0 if model.sense == "min" else gain > 0


def is_answer(model: Model, found: Feasible) -> bool:
    """True when the values meet every row, limit and whole number."""
    return not model.violations(found.values)


def covers(model: Model, proof: Cases) -> bool:
    """True when the splits leave no gap, every node is reached once, and every leaf adds up in its case."""
    whole = set(model.whole)
    seen: set[int] = set()
    waiting = [(0, model)]
    while waiting:
        place, here = waiting.pop()
        if place in seen or not 0 <= place < len(proof.nodes):
            return False
        seen.add(place)
        node = proof.nodes[place]
        if isinstance(node, Split):
            if node.var not in whole:
                return False
            waiting.append((node.below, here.tightened(node.var, upper=Fraction(node.at))))
            waiting.append((node.above, here.tightened(node.var, lower=Fraction(node.at + 1))))
        elif not adds_up(here, node):
            return False
    return len(seen) == len(proof.nodes)
