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
from optimiser.science.preservation import SCREEN_STRENGTH, Preservative, pka_shift, row_term, undissociated

ZERO, ONE = Fraction(0), Fraction(1)


def reaches(rule: Reaches, scope: Scope) -> Rows:
    """Lenient rows take what nobody looked up at the end that favours the request."""
    pieces, found, extra = _all_known(scope), {}, []
    for name in sorted(scope.slots_of):
        one = scope.request.ingredients[name]
        made = _made(one, rule, scope)
        if made is None or (rule.ph_top is None and made.pka is not None):
            continue
        flag = names.doses(f"free-{rule.group}", name)
        extra.append(binary(flag, f"{name} reaches the water against {rule.group}"))
        found[flag] = ONE
        pieces.append(_row(one, made, flag, rule, scope))
    pieces.append(Piece(found, ONE, None, "one", ONE))
    return Rows(tuple(pieces), tuple(extra))


def _all_known(scope: Scope) -> list[Piece]:
    """Nothing whose binding is not known may be there: it could hold back any amount."""
    if scope.lenient:
        return []
    gaps = [name for name in sorted(scope.slots_of) if claim(scope.request.ingredients[name]) is None]
    return [Piece(scope.total(name), None, ZERO, f"unknown-{name}", None) for name in gaps]


def _made(one: Ingredient, rule: Reaches, scope: Scope) -> Preservative | None:
    worst: End = "high" if rule.head.at_worst else "value"
    bound = _end(one, "oil_partition", worst, scope)
    least = _end(one, f"free_dose_{rule.group}", worst, scope)
    return free_preservative(one, rule.group, scope.request.substances, bound, least)


def _end(one: Ingredient, name: str, worst: End, scope: Scope) -> End:
    figure = one.figure(name)
    return "low" if scope.lenient and figure is not None and not figure.sure else worst


def _row(one: Ingredient, made: Preservative, flag: str, rule: Reaches, scope: Scope) -> Piece:
    alpha = undissociated(rule.ph_top or ZERO, made.pka, pka_shift(SCREEN_STRENGTH))
    worst: End = "high" if rule.head.at_worst else "value"

    def term(ingredient: Ingredient) -> Fraction:
        room = claim(ingredient, _end(ingredient, "preservative_binding", worst, scope))
        return ZERO if room is None else row_term(ONE if ingredient is one else ZERO, room, made, alpha)

    coefs = scope.weighted(term)
    slack = max((-value for value in coefs.values()), default=ZERO) * HUNDRED
    return Piece({**coefs, flag: -max(slack, ONE)}, -max(slack, ONE), None, one.id, None, meaning=True)
