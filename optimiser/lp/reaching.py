"""Preservative that reaches the water: at a fixed pH and fixed binding, one row for each preservative.

Σ x · term ≥ 0 says that the preservative is there, free and undissociated, at its least free dose; it has
to hold for one of them only, so a yes-or-no variable lets the others go. A blend brings each of its
substances at its low content; the pack draws on every gram alike.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.rules import Reaches
from optimiser.lp import names
from optimiser.lp.scope import HUNDRED, Piece, Rows, Scope, binary
from optimiser.science.actives import Content, Lender, constants_of, lenders_among
from optimiser.science.constants import End, claim
from optimiser.science.preservation import SCREEN_STRENGTH, Preservative, pka_shift, row_term, undissociated

ZERO, ONE = Fraction(0), Fraction(1)


def reaches(rule: Reaches, scope: Scope) -> Rows:
    """Lenient rows take what nobody looked up at the end that favours the request."""
    pieces, found, extra = _all_known(scope), {}, []
    request = scope.request
    present = [request.ingredients[name] for name in sorted(scope.slots_of)]
    content: Content = "lenient" if scope.lenient else "low"
    for lender in lenders_among(rule.group, request.lenders, present, request.substances, content):
        made = _made(lender, rule, scope)
        if made is None or (rule.ph_top is None and made.pka is not None):
            continue
        name = lender.ingredient.id
        flag = names.doses(f"free-{rule.group}", name)
        extra.append(binary(flag, f"{name} reaches the water against {rule.group}"))
        found[flag] = ONE
        pieces.append(_row(lender, made, flag, rule, scope))
    pieces.append(Piece(found, ONE, None, "one", ONE))
    return Rows(tuple(pieces), tuple(extra))


def _all_known(scope: Scope) -> list[Piece]:
    """Nothing whose binding is not known may be there: it could hold back any amount."""
    if scope.lenient:
        return []
    gaps = [name for name in sorted(scope.slots_of) if claim(scope.request.ingredients[name]) is None]
    return [Piece(scope.total(name), None, ZERO, f"unknown-{name}", None) for name in gaps]


def _made(lender: Lender, rule: Reaches, scope: Scope) -> Preservative | None:
    worst: End = "high" if rule.head.at_worst else "value"
    one = lender.ingredient
    bound = _end(one.figure("oil_partition"), worst, scope)
    least = _end(one.figure(f"free_dose_{rule.group}"), worst, scope)
    unknown = ZERO if scope.lenient else None
    return constants_of(lender, rule.group, scope.request.substances, bound, least, unknown)


def _end(figure: Figure | None, worst: End, scope: Scope) -> End:
    return "low" if scope.lenient and figure is not None and not figure.sure else worst


def _row(lender: Lender, made: Preservative, flag: str, rule: Reaches, scope: Scope) -> Piece:
    alpha = undissociated(rule.ph_top or ZERO, made.pka, pka_shift(SCREEN_STRENGTH))
    worst: End = "high" if rule.head.at_worst else "value"
    wall = _wall(worst, scope)

    def term(ingredient: Ingredient) -> Fraction:
        room = claim(ingredient, _end(ingredient.figure("preservative_binding"), worst, scope))
        if room is None:
            return ZERO
        return row_term(lender.parts.get(ingredient.id, ZERO), replace(room, pack=wall), made, alpha)

    coefs = scope.weighted(term)
    slack = max(max((-value for value in coefs.values()), default=ZERO) * HUNDRED, ONE)
    return Piece({**coefs, flag: -slack}, -slack, None, lender.ingredient.id, None, meaning=True)


def _wall(worst: End, scope: Scope) -> Fraction:
    """ml that the pack is worth for each gram it holds."""
    container = scope.request.container
    if container is None:
        return ZERO
    takes: Fraction = getattr(container.takes, _end(container.takes, worst, scope))
    return takes / HUNDRED
