"""Measures that the science foretells and that are one straight row at their limit.

For each: what one gram brings to the row of a limit. The row is exact where the rule holds at middle values;
lenient rows take numbers that nobody looked up at the end that favours the request. What is dissolved and not
counted would help a ceiling on water activity and a floor on frost: these two have no lenient row.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import assert_never

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.rules import Forecast
from optimiser.lp.dissolving import undissolved
from optimiser.lp.naming import named
from optimiser.lp.scope import Coefs, Piece, Rows, Scope, scaled
from optimiser.science import density
from optimiser.science.acidity_rows import buffer_per_gram
from optimiser.science.charge import ChargeProfile
from optimiser.science.constants import OILS, End, reading, volumes
from optimiser.science.emulsion import mean
from optimiser.science.formula import profiles_for
from optimiser.science.powers import Towards
from optimiser.science.solutes import dissolved_in, known_solutes, water_in
from optimiser.science.suspension import fraction_term
from optimiser.science.water_activity import LOWEST, freezing_term, row_term

ZERO, ONE, HUNDRED = Fraction(0), Fraction(1), Fraction(100)
PER_KG = Fraction(10)
"""mmol in 100 g to mmol in a kilogram."""
PART, HAIR = Fraction(1, 10**5), Fraction(2, 10**6)
Term = Callable[[Ingredient], Fraction]


def forecast(rule: Forecast, scope: Scope) -> Rows:
    """A row for each limit; where nothing is foretold a reading decides and there is none."""
    if not rule.predicted:
        return Rows(())
    if scope.lenient:
        rule = _widened(rule)
    match rule.of:
        case "water_activity":
            return _water_activity(rule, scope)
        case "frost_proof":
            return _frost_proof(rule, scope)
        case "powder_volume":
            return _powder_volume(rule, scope)
        case "buffer":
            return _buffer(rule, scope)
        case "hlb":
            return _hlb(rule, scope)
        case "undissolved":
            return undissolved(rule, scope)
        case "density":
            return _density(rule, scope)
        case "allergens":
            return named(rule, scope)
        case _:
            assert_never(rule.of)


def _widened(rule: Forecast) -> Forecast:
    """Needed rows lie a hair outside: the judge rounds there, and takes the buffer as a difference."""
    low = None if rule.low is None else max(rule.low * (1 - PART) - HAIR, ZERO)
    high = None if rule.high is None else rule.high * (1 + PART) + HAIR
    return replace(rule, low=low, high=high)


def _end(rule: Forecast, scope: Scope, worst: End, best: End) -> End:
    if scope.lenient:
        return best
    return worst if rule.head.at_worst else "value"


def _water_activity(rule: Forecast, scope: Scope) -> Rows:
    """A ceiling asks for enough dissolved, a floor for little; the row is in mol, per kg of water.

    A ceiling at pure water asks for nothing. Limits that no sum is made for stand at the nearest one that is:
    below it the judge lets nothing pass, and a lenient row must not say so.
    """

    def coefs(limit: Fraction, end: End, towards: Towards) -> Coefs:
        limit = min(max(limit, LOWEST), 1 - HAIR / 2000)
        solutes = known_solutes(scope.request.ingredients.values(), scope.request.substances, end)

        def term(one: Ingredient) -> Fraction:
            water = water_in(one)
            held = dissolved_in(one, solutes)
            return row_term(held, water if isinstance(water, Fraction) else ZERO, limit, towards)

        return scaled(scope.weighted(term), HUNDRED)

    pieces = []
    if rule.high is not None and rule.high < 1 and not scope.lenient:
        pieces.append(
            Piece(coefs(rule.high, _end(rule, scope, "low", "high"), "down"), ZERO, None, "most", None)
        )
    if rule.low is not None and not (scope.lenient and rule.low < LOWEST):
        pieces.append(
            Piece(coefs(rule.low, _end(rule, scope, "high", "low"), "up"), None, ZERO, "least", None)
        )
    return Rows(tuple(pieces))


def _frost_proof(rule: Forecast, scope: Scope) -> Rows:
    """No ice down to so many degrees below freezing: particles against water."""
    solutes = known_solutes(scope.request.ingredients.values(), scope.request.substances)

    def coefs(limit: Fraction) -> Coefs:
        def term(one: Ingredient) -> Fraction:
            water = water_in(one)
            held = dissolved_in(one, solutes)
            return freezing_term(held, water if isinstance(water, Fraction) else ZERO, -limit)

        return scope.weighted(term)

    pieces = []
    if rule.low is not None and not scope.lenient:
        pieces.append(Piece(coefs(rule.low), ZERO, None, "least", None))
    if rule.high is not None:
        pieces.append(Piece(coefs(rule.high), None, ZERO, "most", None))
    return Rows(tuple(pieces))


def _powder_volume(rule: Forecast, scope: Scope) -> Rows:
    def coefs(limit: Fraction, end: End) -> Coefs:
        def term(one: Ingredient) -> Fraction:
            found = volumes(one, end)
            return ZERO if found is None else fraction_term(found[0], found[1], limit / HUNDRED)

        return scope.weighted(term)

    return _at_its_limits(rule, scope, coefs)


def _buffer(rule: Forecast, scope: Scope) -> Rows:
    """The floor at both ends of the pH window, mmol per kg and pH, at one usual ionic strength."""
    window = scope.request.ph_window
    if window is None or rule.low is None:
        return Rows(())
    known = profiles_for(scope.request.ingredients.values(), scope.request.substances)

    def coefs(ph: Fraction) -> Coefs:
        def term(one: Ingredient) -> Fraction:
            profile = known.get(one.id)
            if not isinstance(profile, ChargeProfile):
                return ZERO
            return buffer_per_gram(profile, ph, end="high" if scope.lenient else "middle") * PER_KG

        return scope.weighted(term)

    return Rows(
        tuple(
            Piece(coefs(ph), rule.low, None, name, ONE)
            for name, ph in (("foot", window[0]), ("top", window[1]))
        )
    )


def _density(rule: Forecast, scope: Scope) -> Rows:
    """Grams over the sum of volumes, at the limit: a gram against the room it takes. Air makes it less."""
    air = dict(zip(("low", "high"), density.MODEL.band.around(ONE), strict=True))

    def coefs(limit: Fraction, end: End) -> Coefs:
        def term(one: Ingredient) -> Fraction:
            own = reading(one, "density", end)
            return ZERO if own is None else 1 - limit / air.get(end, ONE) / own

        return scope.weighted(term)

    return _at_its_limits(rule, scope, coefs)


def _at_its_limits(rule: Forecast, scope: Scope, coefs: Callable[[Fraction, End], Coefs]) -> Rows:
    """Rows against zero, each written at its limit: a floor with the low ends, a ceiling with the high."""
    pieces = []
    if rule.low is not None:
        low = coefs(rule.low, _end(rule, scope, "low", "high"))
        pieces.append(Piece(low, ZERO, None, "least", None))
    if rule.high is not None:
        high = coefs(rule.high, _end(rule, scope, "high", "low"))
        pieces.append(Piece(high, None, ZERO, "most", None))
    return Rows(tuple(pieces))


def _hlb(rule: Forecast, scope: Scope) -> Rows:
    """The blend within so much of what the oils of the last answer ask; lenient: of any oil there may be."""
    if rule.high is None:
        return Rows(())
    here = scope.request.ingredients
    oils = {name: asked for name, one in here.items() if (asked := _asks(one)) is not None}
    last = [(share, oils[name]) for name, share in sorted(scope.last_shares.items()) if name in oils]
    wanted = mean(last)
    if scope.lenient or wanted is None:
        if not oils:
            return Rows(())
        least, most = min(oils.values()), max(oils.values())
    else:
        least = most = wanted
    low = scope.weighted(lambda one: _own(one, least - (rule.high or ZERO)))
    high = scope.weighted(lambda one: _own(one, most + (rule.high or ZERO)))
    return Rows((Piece(low, ZERO, None, "least", None), Piece(high, None, ZERO, "most", None)))


def _asks(one: Ingredient) -> Fraction | None:
    return reading(one, "hlb_needed") if one.group in OILS and one.group != "emulsifier" else None


def _own(one: Ingredient, limit: Fraction) -> Fraction:
    """HLB of an emulsifier less the limit; nothing for any other line."""
    own = reading(one, "hlb") if one.group == "emulsifier" else None
    return ZERO if own is None else own - limit
