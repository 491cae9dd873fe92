"""Preservative that reaches the water: at a fixed pH and fixed binding, one row for each preservative.

Σ x · term ≥ 0 says that the preservative is there, free and undissociated, at its least free dose; it has
to hold for one of them only, so a yes-or-no variable lets the others go.
"""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.rules import Reaches
from optimiser.lp import names
from optimiser.lp.scope import HUNDRED, Piece, Rows, Scope, binary
from optimiser.science.constants import End, claim, free_preservative
from optimiser.science.preservation import Preservative, pka_shift, row_term, undissociated

STRENGTH = Fraction(1, 10)
ZERO, ONE = Fraction(0), Fraction(1)


def reaches(rule: Reaches, scope: Scope) -> Rows:
    """Lenient rows take what is bound at its low end: most of it is assumed."""
    bound: End = "low" if scope.lenient else "high" if rule.head.at_worst else "value"
    least: End = "high" if rule.head.at_worst else "value"
    pieces, found, extra = [], {}, []
    for name in sorted(scope.slots_of):
        one = scope.request.ingredients[name]
        made = free_preservative(one, rule.group, scope.request.substances, bound, least)
        if made is None or rule.ph_top is None:
            continue
        flag = names.doses(f"free-{rule.group}", name)
        extra.append(binary(flag, f"{name} reaches the water against {rule.group}"))
        found[flag] = ONE
        pieces.append(_row(one, made, flag, bound, rule.ph_top, scope))
    pieces.append(Piece(found, ONE, None, "one", ONE))
    return Rows(tuple(pieces), tuple(extra))


def _row(one: Ingredient, made: Preservative, flag: str, bound: End, top: Fraction, scope: Scope) -> Piece:
    alpha = undissociated(top, made.pka, pka_shift(STRENGTH))

    def term(ingredient: Ingredient) -> Fraction:
        room = claim(ingredient, bound)
        return ZERO if room is None else row_term(ONE if ingredient is one else ZERO, room, made, alpha)

    coefs = scope.weighted(term)
    slack = max((-value for value in coefs.values()), default=ZERO) * HUNDRED
    return Piece({**coefs, flag: -max(slack, ONE)}, -max(slack, ONE), None, one.id, None, meaning=True)
