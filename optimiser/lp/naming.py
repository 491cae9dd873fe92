"""Allergens that the label has to name as rows: a yes-or-no variable for each name that may come in."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import LabelLimit
from optimiser.domain.rules import Forecast
from optimiser.lp.scope import Coefs, Piece, Rows, Scope, binary, merged

ZERO, ONE, HUNDRED = Fraction(0), Fraction(1), Fraction(100)


def named(rule: Forecast, scope: Scope) -> Rows:
    """A name above its threshold costs one; all of them together at most the limit."""
    pieces, flags = [], []
    for number, limit in enumerate(scope.request.labels):
        brought = _brought(limit, scope)
        if not brought:
            continue
        flag = binary(f"n:{rule.head.id}:{number}", f"the label names {limit.name}")
        flags.append(flag)
        most = HUNDRED * max(brought.values()) - limit.threshold
        row = merged(brought, {flag.name: -most})
        pieces.append(Piece(row, None, limit.threshold, limit.name, None, meaning=True))
    if rule.high is not None and flags:
        count: Coefs = {flag.name: ONE for flag in flags}
        pieces.append(Piece(count, None, rule.high, "most", ONE))
    return Rows(tuple(pieces), tuple(flags))


def _brought(limit: LabelLimit, scope: Scope) -> Coefs:
    """What a gram of each line brings under one name, where that could ever pass the threshold."""
    factors = {name.casefold(): factor for name, factor in limit.members}
    found = scope.weighted(lambda one: _part(one, factors, lenient=scope.lenient))
    return found if any(HUNDRED * part > limit.threshold for part in found.values()) else {}


def _part(one: Ingredient, factors: Mapping[str, Fraction], *, lenient: bool) -> Fraction:
    """The whole line where it is listed itself, else its listed parts at their highest content."""
    own = factors.get(one.inci.casefold())
    if own is not None:
        return own
    held = ZERO
    for part in one.composition or ():
        content = part.low if lenient and not part.sure else part.high
        held += content / HUNDRED * factors.get(part.substance.casefold(), ZERO)
    return min(held, max(factors.values()))
