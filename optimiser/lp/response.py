"""A fitted response as rows: where it bends, the straight line that touches it at the last answer.

Times the sum of what was varied, response less limit is a sum of shares where the model is straight: the row
is exact. Elsewhere it is the tangent plane at the last answer, and search writes it again at the next; so is
the error that is held off where a rule has to hold surely. Lenient rows leave out what bends.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from fractions import Fraction

from optimiser.domain.response import Fitted
from optimiser.domain.rules import Response
from optimiser.lp.scope import Coefs, Piece, Rows, Scope

ZERO, ONE = Fraction(0), Fraction(1)
Shares = Mapping[str, Fraction]


def response(rule: Response, scope: Scope) -> Rows:
    """A row for each limit, in the response's own unit; none where a reading decides."""
    if not rule.predicted or (scope.lenient and not rule.fitted.straight):
        return Rows(())
    away = 1 if rule.head.at_worst and not scope.lenient else 0
    pieces = []
    if rule.low is not None:
        pieces.append(Piece(_coefs(rule.fitted, scope, rule.low, -away), ZERO, None, "least", None))
    if rule.high is not None:
        pieces.append(Piece(_coefs(rule.fitted, scope, rule.high, away), None, ZERO, "most", None))
    return Rows(tuple(pieces))


def _coefs(fitted: Fitted, scope: Scope, limit: Fraction, side: int) -> Coefs:
    slopes = tangent(fitted, inside(fitted, scope.last_shares), limit, side)
    return scope.weighted(lambda one: slopes.get(one.id, ZERO))


def inside(fitted: Fitted, shares: Shares) -> dict[str, Fraction]:
    """Shares of what is varied, each drawn to where the trials were: rows are needed nowhere else."""
    return {
        one.ingredient: min(max(shares.get(one.ingredient, ZERO), one.low), one.high) for one in fitted.varied
    }


def tangent(fitted: Fitted, at: Shares, limit: Fraction, side: int = 0) -> dict[str, Fraction]:
    """What one % of each brings to (response + side x what it may err - limit), touching it at `at`.

    Scaled so that the sum over the shares is in the unit of the response.
    """
    total = sum(at.values(), ZERO)
    if not total:
        return {}
    parts = [at[one.ingredient] / total for one in fitted.varied]
    value, slopes = _value(fitted, parts)
    if side:
        error, leans = _error(fitted, parts)
        value += side * error
        slopes = [slope + side * lean for slope, lean in zip(slopes, leans, strict=True)]
    level = value - limit - sum((s * p for s, p in zip(slopes, parts, strict=True)), ZERO)
    return {one.ingredient: (slope + level) / total for one, slope in zip(fitted.varied, slopes, strict=True)}


def off_by(rule: Response, written: Shares, now: Shares) -> Fraction:
    """How far rows written at one answer are off at another, in the unit of the response."""
    fitted, at = rule.fitted, inside(rule.fitted, now)
    side = 0 if not rule.head.at_worst else -1 if rule.low is not None else 1
    there = tangent(fitted, inside(fitted, written), ZERO, side)
    here = tangent(fitted, at, ZERO, side)
    return abs(sum(((there.get(name, ZERO) - here.get(name, ZERO)) * x for name, x in at.items()), ZERO))


def _scaled(fitted: Fitted, parts: list[Fraction]) -> tuple[dict[str, Fraction], Fraction]:
    """Parts less their lows, scaled to one, and what they are divided by."""
    room = ONE - sum(fitted.lows, ZERO)
    names = (one.ingredient for one in fitted.varied)
    return {n: (p - low) / room for n, p, low in zip(names, parts, fitted.lows, strict=True)}, room


def _product(term: tuple[str, ...], at: Mapping[str, Fraction], but: str = "") -> Fraction:
    found = ONE
    for name in term:
        found *= ONE if name == but else at[name]
    return found


def _value(fitted: Fitted, parts: list[Fraction]) -> tuple[Fraction, list[Fraction]]:
    """The response and how it changes with each part."""
    at, room = _scaled(fitted, parts)
    value = sum((b * _product(t, at) for t, b in zip(fitted.terms, fitted.coefficients, strict=True)), ZERO)
    slopes = [
        sum((b * d for b, d in zip(fitted.coefficients, leans, strict=True)), ZERO)
        for leans in (_leans(fitted, at, room, one.ingredient) for one in fitted.varied)
    ]
    return value, slopes


def _leans(fitted: Fitted, at: Mapping[str, Fraction], room: Fraction, name: str) -> list[Fraction]:
    """How each term changes with one part."""
    return [_product(term, at, name) / room if name in term else ZERO for term in fitted.terms]


def _error(fitted: Fitted, parts: list[Fraction]) -> tuple[Fraction, list[Fraction]]:
    """What one jar may err, in 95 of 100, and how that changes with each part."""
    at, room = _scaled(fitted, parts)
    terms = [_product(term, at) for term in fitted.terms]
    carried = [sum((c * t for c, t in zip(row, terms, strict=True)), ZERO) for row in fitted.covariance]
    variance = fitted.deviation**2 + sum((c * t for c, t in zip(carried, terms, strict=True)), ZERO)
    root = Fraction(repr(math.sqrt(variance))) if variance > 0 else ZERO
    slopes = []
    for one in fitted.varied:
        leans = _leans(fitted, at, room, one.ingredient)
        moved = sum((c * d for c, d in zip(carried, leans, strict=True)), ZERO)
        slopes.append(fitted.sure * moved / root if root else ZERO)
    return fitted.sure * root, slopes
