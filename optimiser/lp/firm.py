"""Rows that hold while a few of their numbers, whichever these are, stand at their worst.

The dearest set of so many deviations is a linear programme; by its dual it becomes one variable for the row
and one for each number (D. Bertsimas, M. Sim, The price of robustness, Operations Research 52 (2004) 35-53).
An ingredient's number is one, however many lines it has.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import TypeVar

from optimiser.domain.rules import FreeLiquid, Level, Mean
from optimiser.lp import names
from optimiser.lp.scope import Coefs, Piece, Rows, Scope, merged, scaled
from optimiser.model.rows import Var

ZERO, ONE = Fraction(0), Fraction(1)
R = TypeVar("R", bound=Level | Mean | FreeLiquid)


def firmly(rule: R, scope: Scope, written: Callable[[R], tuple[Piece, ...]]) -> Rows:
    """The rule's rows as `written`, held firm where it asks for that, with its worst values `written` too."""
    off, plain = rule.head.off_at_once, written(rule)
    if off is None or rule.head.at_worst:
        return Rows(plain)
    worst = written(replace(rule, head=replace(rule.head, surely=True)))
    parts = [_firm(rule.head.id, one, other, off, scope) for one, other in zip(plain, worst, strict=True)]
    return Rows(
        tuple(piece for part in parts for piece in part.pieces),
        tuple(var for part in parts for var in part.vars),
    )


def _firm(rule: str, plain: Piece, worst: Piece, off: Fraction, scope: Scope) -> Rows:
    """A row with one limit, `off` of the deviations of its coefficients from the worst against it."""
    against = ONE if plain.high is not None else -ONE
    apart = scaled(merged(worst.coefs, scaled(plain.coefs, -ONE)), against)
    each = names.worst(rule, plain.where)
    held: Coefs = {each: against * off}
    pieces, variables = [], [_helper(each)]
    for ingredient, slots in sorted(scope.slots_of.items()):
        lines = [names.share(slot) for slot in slots]
        dearer = {line: -apart[line] for line in lines if line in apart}
        if dearer:
            more = names.beyond(rule, plain.where, ingredient)
            variables.append(_helper(more))
            held[more] = against
            needed = merged({each: ONE, more: ONE}, dearer)
            pieces.append(Piece(needed, ZERO, None, f"{plain.where}:{ingredient}", None, meaning=True))
    return Rows((replace(plain, coefs=merged(plain.coefs, held)), *pieces), tuple(variables))


def _helper(name: str) -> Var:
    return Var(name, ZERO, None, "C")
