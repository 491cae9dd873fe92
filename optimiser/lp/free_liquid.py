"""Free liquid as rows: each line's liquid less what it drinks."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.rules import FreeLiquid
from optimiser.lp.firm import firmly
from optimiser.lp.scope import Coefs, Piece, Rows, Scope
from optimiser.lp.weights import Side, figure_for
from optimiser.science.wetting import liquid_of, uptake_of


def free_liquid(rule: FreeLiquid, scope: Scope) -> Rows:
    """A row for each limit; what drinks more stands in the way of a floor, less in that of a ceiling."""

    def written(of: FreeLiquid) -> tuple[Piece, ...]:
        pieces = []
        if of.predicted and of.low is not None:
            pieces.append(Piece(_coefs(of, scope, "high"), of.low, None, "least"))
        if of.predicted and of.high is not None:
            pieces.append(Piece(_coefs(of, scope, "low"), None, of.high, "most"))
        return tuple(pieces)

    return firmly(rule, scope, written)


def _coefs(rule: FreeLiquid, scope: Scope, drinking: Side) -> Coefs:
    def left(ingredient: Ingredient) -> Fraction:
        liquid, drunk = liquid_of(ingredient, rule.oily), uptake_of(ingredient, rule.oily)
        found = liquid if isinstance(liquid, Fraction) else Fraction(0)
        if isinstance(drunk, Figure):
            found -= figure_for(drunk, drinking, at_worst=rule.head.at_worst, lenient=scope.lenient)
        return found

    return scope.weighted(left)
