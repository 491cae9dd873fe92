"""Thickness as rows: at one thickness the doses of gums add up.

What glycerol, powders and salt do is taken from the last answer (first: from the base), so the rows are right
there; search writes them again at each answer. Lenient rows keep only what is needed whatever the powders:
glycerol and powders never thin, so the gums alone stay below a ceiling.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.rules import Thickness
from optimiser.lp.scope import Coefs, Piece, Rows, Scope, scaled
from optimiser.science.body import WATER, Body, body_of, factors_of, gum_under, known_bodies
from optimiser.science.charge import Unknown
from optimiser.science.constants import End
from optimiser.science.powers import Towards
from optimiser.science.thickness import Gum, row_term, synergies

ZERO = Fraction(0)
HUNDREDTH = Fraction(1, 100)
"""Rows are scaled by the limit, so that what is missed counts in about Pa.s."""


def thickness(rule: Thickness, scope: Scope) -> Rows:
    """A row for each limit."""
    if not rule.predicted:
        return Rows(())
    if scope.lenient:
        return Rows(_needed(rule, scope))
    pieces = []
    if rule.low is not None:
        coefs = _coefs(rule, scope, rule.low, "low" if rule.head.at_worst else "value", "down")
        pieces += [Piece(coefs, ZERO, None, "least", None)] if coefs is not None else []
    if rule.high is not None:
        coefs = _coefs(rule, scope, rule.high, "high" if rule.head.at_worst else "value", "up")
        pieces += [Piece(coefs, None, ZERO, "most", None)] if coefs else []
    return Rows(tuple(pieces))


def _coefs(rule: Thickness, scope: Scope, eta: Fraction, end: End, towards: Towards) -> Coefs | None:
    """None where water and the powders alone are thick enough for a floor."""
    ingredients, substances = scope.request.ingredients, scope.request.substances
    at = factors_of(scope.last_shares, ingredients, substances, end, scope.request.ph_window)
    goal = eta / at.times
    if goal <= WATER and towards == "down":
        return None
    bodies = known_bodies(ingredients.values(), end)

    def term(ingredient: Ingredient) -> Fraction:
        body = bodies.get(ingredient.id)
        if body is None:
            return ZERO
        gum = gum_under(body, scope.request.ph_window, at.salt)
        return row_term(gum if isinstance(gum, Gum) else None, body.phase, goal, rule.shear, towards)

    return scaled(scope.weighted(term), eta * HUNDREDTH)


def _needed(rule: Thickness, scope: Scope) -> tuple[Piece, ...]:
    """A ceiling over the gums that salt leaves alone; none where two of them may do more than the sum."""
    ingredients = scope.request.ingredients
    high = rule.high
    if high is None or synergies([one.inci for one in ingredients.values()]):
        return ()
    end: End = "high" if rule.head.at_worst else "value"
    found: Mapping[str, Body | Unknown] = {name: body_of(one, end) for name, one in ingredients.items()}

    def term(ingredient: Ingredient) -> Fraction:
        body = found[ingredient.id]
        if isinstance(body, Unknown):
            return ZERO
        if body.gum is None or body.touchy.salt_half is not None:
            return -body.phase
        weak = _weakest(ingredient, body.gum)
        return min(row_term(gum, body.phase, high, rule.shear, "down") for gum in weak)

    coefs = scope.weighted(term)
    return (Piece(scaled(coefs, high * HUNDREDTH), None, ZERO, "most", None),)


def _weakest(ingredient: Ingredient, gum: Gum) -> list[Gum]:
    """The gum at the ends of those of its constants that nobody looked up."""
    ends = [_ends(ingredient, "viscosity_1pct", gum.at_one)[:1]]
    ends += [_ends(ingredient, "viscosity_power", gum.power), _ends(ingredient, "flow_index", gum.flow)]
    return [Gum(*picked) for picked in itertools.product(*ends)]


def _ends(ingredient: Ingredient, name: str, own: Fraction) -> tuple[Fraction, ...]:
    figure = ingredient.figure(name)
    return (own,) if figure is None or figure.sure else (figure.low, figure.high)
