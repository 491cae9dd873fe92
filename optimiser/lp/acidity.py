"""The pH window as rows of charge: at its foot not less than nought, at its top not more.

Lines dosed to the pH stand at their ceiling where they help and at none where they hinder: then for every
value in the data some dose between reaches the window. Inner rows are written at three ionic strengths with a
cap on it, in a window drawn in by the model's own error. Lenient rows take for each ingredient the best
charge over all strengths, the best end of data that nobody looked up, and the model's error in their favour.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.rules import Acidity
from optimiser.domain.selector import AnyOf, Pick
from optimiser.lp import names
from optimiser.lp.scope import HUNDRED, Coefs, Piece, Rows, Scope, binary, merged
from optimiser.lp.weights import part_of
from optimiser.model.rows import Var
from optimiser.science.acidity import LEAST_WATER, MODEL_ERROR, MOST_GLYCOL, kept_off
from optimiser.science.acidity_rows import (
    MOST_CAP,
    buffer_per_gram,
    charge_bounds_per_gram,
    charge_per_gram,
    inner_levels,
    ion_strength_per_gram,
    strength_coefficient,
)
from optimiser.science.charge import ChargeProfile, End
from optimiser.science.formula import profiles_for

ADJUSTERS = AnyOf((Pick("role", "acid-adjuster"), Pick("role", "alkali-adjuster"), Pick("role", "buffering")))
ZERO, ONE = Fraction(0), Fraction(1)
charge_at = lru_cache(maxsize=1 << 15)(charge_per_gram)
bounds_at = lru_cache(maxsize=1 << 14)(charge_bounds_per_gram)
buffer_at = lru_cache(maxsize=1 << 12)(buffer_per_gram)
strength_at = lru_cache(maxsize=1 << 14)(ion_strength_per_gram)
"""The same ingredient at the same pH is asked for again by every model of a request."""
GLYCOL = Fraction(str(MOST_GLYCOL))
LEAST_PER_PH = Fraction(1, 100)
"""mmol in 100 g: less than that buffers nothing that a meter shows."""
HAIR = Fraction(1, 10**6)
"""Lenient rows are wider by this much pH, for the judge solves and rounds to a millionth."""
POWDER_FIGURES = ("buffer_slope", "powder_ph")
Charge = Callable[[Ingredient, ChargeProfile], Fraction]
Charges = tuple[Charge, Charge]
"""At the foot of the window and at its top."""
Ends = tuple[End, End]


def acidity(rule: Acidity, scope: Scope) -> Rows:
    """By reading alone: some line to adjust with. Predicted: the charge rows as well."""
    able = [i for i, one in sorted(scope.request.ingredients.items()) if part_of(ADJUSTERS, one, "low")]
    there = Piece({names.used(i): ONE for i in able if i in scope.slots_of}, ONE, None, "adjuster", None)
    read, reading = _one_reading(rule, scope)
    if not rule.predicted:
        return Rows((there, *read), reading)
    profiles = _known(scope)
    pieces = [] if scope.lenient else [*_capped(rule, scope, profiles), *_trusted(scope, profiles)]
    beside, flags = _beside_preservatives(rule, scope)
    for name, plain, worst in _levels(rule, scope):
        pieces += _window(rule, scope, profiles, name, plain, worst if beside else None)
    pieces = [*beside, *pieces]
    return Rows((there, *read, *pieces) if rule.adjusters else (*read, *pieces), (*reading, *flags))


def _beside_preservatives(rule: Acidity, scope: Scope) -> tuple[list[Piece], tuple[Var, ...]]:
    """A yes-or-no variable that is 1 where an acid preservative is there, if only then the worst counts."""
    if rule.head.surely or not rule.preservatives:
        return [], ()
    flag = names.side(rule.head.id)
    there = [name for name in rule.preservatives if name in scope.slots_of]
    pieces = [
        Piece({names.used(i): ONE, flag: -ONE}, None, ZERO, f"beside-{i}", None, meaning=True) for i in there
    ]
    return pieces, (binary(flag, f"an acid preservative hangs on: {rule.head.sentence}"),)


def _window(
    rule: Acidity,
    scope: Scope,
    profiles: dict[str, ChargeProfile],
    name: str,
    plain: Charges,
    worst: Charges | None,
) -> list[Piece]:
    """Both rows of the window; with `worst` also those that hold only while the flag is 1."""
    foot, top = (_charges(scope, profiles, one) for one in _both(rule, plain))
    pieces = [
        Piece(foot, ZERO, None, f"foot-{name}", _per_ph(rule, scope, profiles, rule.low)),
        Piece(top, None, ZERO, f"top-{name}", _per_ph(rule, scope, profiles, rule.high)),
    ]
    if worst is None:
        return pieces
    flag = names.side(rule.head.id)
    at_foot, at_top = (_charges(scope, profiles, one) for one in _both(rule, worst))
    lost, more = _most_over(foot, at_foot), _most_over(at_top, top)
    return [
        *pieces,
        Piece(merged(at_foot, {flag: -lost}), -lost, None, f"foot-worst-{name}", None, meaning=True),
        Piece(merged(at_top, {flag: more}), None, more, f"top-worst-{name}", None, meaning=True),
    ]


def _both(rule: Acidity, charges: Charges) -> tuple[Charge, Charge]:
    return _dosed(rule, charges[0], max), _dosed(rule, charges[1], min)


def _most_over(one: Coefs, other: Coefs) -> Fraction:
    """The most that the first sum can exceed the second over all formulas."""
    return HUNDRED * max((one.get(n, ZERO) - other.get(n, ZERO) for n in {*one, *other}), default=ZERO)


def _one_reading(rule: Acidity, scope: Scope) -> tuple[tuple[Piece, ...], tuple[Var, ...]]:
    """Where several windows are asked, one reading has to lie in all of them."""
    if sum(isinstance(other, Acidity) for other in scope.request.rules) < 2:
        return (), ()
    pieces = (
        Piece({names.READING: ONE}, rule.low, None, "reading-least"),
        Piece({names.READING: ONE}, None, rule.high, "reading-most"),
    )
    return pieces, (Var(names.READING, ZERO, Fraction(14), "C", "pH as read"),)


def _known(scope: Scope) -> dict[str, ChargeProfile]:
    every = profiles_for(scope.request.ingredients.values(), scope.request.substances)
    return {name: profile for name, profile in every.items() if isinstance(profile, ChargeProfile)}


def _dosed(rule: Acidity, charge: Charge, better: Callable[[Fraction, Fraction], Fraction]) -> Charge:
    """A dosed line stands at none where its charge hinders; what helps at one end may hinder at the other."""

    def of(ingredient: Ingredient, profile: ChargeProfile) -> Fraction:
        found = charge(ingredient, profile)
        return better(found, ZERO) if ingredient.id in rule.adjusters else found

    return of


def _levels(rule: Acidity, scope: Scope) -> list[tuple[str, Charges, Charges]]:
    """(name, charges at foot and top, the same at worst) for each ionic strength the rows are written at.

    Where no acid preservative decides, the rule's own basis says which ends of the data the first are at.
    """
    worst: Ends = ("low", "high")
    middle: Ends = ("middle", "middle")
    plain = worst if rule.at_worst(()) else middle
    off = kept_off(rule.low, rule.high, dosed=bool(rule.adjusters))
    if scope.lenient:
        return [("any", _outer(rule, plain), _outer(rule, worst))]
    foot, top = rule.low + off, rule.high - off
    levels = inner_levels(MOST_CAP) if scope.ionic is None else (scope.ionic,)
    return [
        (f"{number}", _inner(foot, top, level, plain), _inner(foot, top, level, worst))
        for number, level in enumerate(levels, 1)
    ]


def _inner(foot: Fraction, top: Fraction, level: Fraction, ends: Ends) -> Charges:
    return (
        lambda _, profile: charge_at(profile, foot, level, end=ends[0], rounding="down"),
        lambda _, profile: charge_at(profile, top, level, end=ends[1], rounding="up"),
    )


def _outer(rule: Acidity, ends: Ends) -> Charges:
    """The model may err in favour of the request, and numbers that nobody looked up are at their best."""
    low, high = rule.low - MODEL_ERROR - HAIR, rule.high + MODEL_ERROR + HAIR

    def end(ingredient: Ingredient, profile: ChargeProfile, worst: End, best: End) -> End:
        figures = (ingredient.figure(name) for name in POWDER_FIGURES)
        known = all(one is None or one.sure for one in figures) and not any(a.off for a in profile.acids)
        parts = (part for part in ingredient.composition or () if part.low < part.high)
        return worst if known and all(part.sure for part in parts) else best

    return (
        lambda i, profile: bounds_at(profile, low, high_end=end(i, profile, ends[0], "high"))[1],
        lambda i, profile: bounds_at(profile, high, low_end=end(i, profile, ends[1], "low"))[0],
    )


def _per_ph(rule: Acidity, scope: Scope, profiles: dict[str, ChargeProfile], ph: Fraction) -> Fraction | None:
    """How much charge the base takes for one pH there, mmol: by it a wish that is missed counts in pH.

    The same miss shows in the row of each strength, so each counts for its part.
    """
    if rule.head.rank is None:
        return None
    had = [(profiles[name], share) for name, share in scope.base_shares.items() if name in profiles]
    found = sum((share * buffer_at(profile, ph) for profile, share in had), ZERO)
    levels = 1 if scope.ionic is not None else len(inner_levels(MOST_CAP))
    return max(found, LEAST_PER_PH) * levels


def _charges(scope: Scope, profiles: dict[str, ChargeProfile], charge: Charge) -> Coefs:
    def of(ingredient: Ingredient) -> Fraction:
        profile = profiles.get(ingredient.id)
        return ZERO if profile is None else charge(ingredient, profile)

    return scope.weighted(of)


def _capped(rule: Acidity, scope: Scope, profiles: dict[str, ChargeProfile]) -> list[Piece]:
    """The ionic strength stays where the three levels hold the pH: a limit of the prediction alone."""

    def strength(ph: Fraction) -> Coefs:
        return scope.weighted(
            lambda i: (
                strength_coefficient(strength_at(profiles[i.id], ph), profiles[i.id], MOST_CAP)
                if i.id in profiles
                else ZERO
            )
        )

    if scope.ionic is not None:
        return []
    return [
        Piece(strength(ph), None, ZERO, f"ions-{name}", None)
        for name, ph in (("foot", rule.low), ("top", rule.high))
    ]


def _trusted(scope: Scope, profiles: dict[str, ChargeProfile]) -> list[Piece]:
    """Few glycols in the water phase, and a water phase: limits of the prediction, so never in lenient rows.

    Lines dosed by reading may be left out of the pot, so the water they bring is not counted on.
    """
    dosed = {slot.ingredient for slot in scope.request.dosed}

    def weighed(of: Callable[[ChargeProfile], Fraction]) -> Coefs:
        def term(ingredient: Ingredient) -> Fraction:
            profile = profiles.get(ingredient.id, ChargeProfile())
            found = of(profile)
            return max(found, ZERO) if ingredient.id in dosed else found

        return scope.weighted(term)

    few = weighed(lambda p: p.glycol - GLYCOL * (p.glycol + p.water))
    wet = weighed(lambda p: LEAST_WATER - p.water)
    return [Piece(few, None, ZERO, "glycols", None), Piece(wet, None, ZERO, "water", None)]
