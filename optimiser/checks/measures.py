"""Numbers a formula has, from exact shares."""

from __future__ import annotations

from fractions import Fraction

from optimiser.checks.amounts import Amounts, counted
from optimiser.checks.firm import shaken
from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.rules import Covers, Legal, Level, Mean, Share
from optimiser.domain.selector import AnyOf

ZERO = Fraction(0)
EVERYTHING = AnyOf(())


def middle(of: Share | Level | Mean, amounts: Amounts) -> Fraction:
    """The measure at middle values (a share: what surely counts)."""
    if isinstance(of, Share):
        return amounts.sum(lambda i: counted(of.of, i).surely, of.phase)
    if isinstance(of, Level):
        return amounts.sum(lambda i: _strength(i, of.strength, "value"), of.phase)
    return amounts.sum(lambda i: _end(i.figure(of.figure), "value")) / 100


def ends(of: Share | Level | Mean, amounts: Amounts) -> tuple[Fraction, Fraction]:
    """Least and greatest value the rule has to reckon with: worst values where it holds at the
    worst, a few of them at theirs where it is held firm against a few."""
    if isinstance(of, Share):
        return (
            amounts.sum(lambda i: counted(of.of, i).surely, of.phase),
            amounts.sum(lambda i: counted(of.of, i).at_most, of.phase),
        )
    if of.head.at_worst:
        return spread(of, amounts)
    if of.head.off_at_once is not None:
        return _with_some_off(of, amounts, of.head.off_at_once)
    value = middle(of, amounts)
    return value, value


def _with_some_off(of: Level | Mean, amounts: Amounts, count: Fraction) -> tuple[Fraction, Fraction]:
    alone = [
        Amounts(tuple(line for line in amounts.lines if line[0].ingredient == one.id), amounts.ingredients)
        for one in amounts.present
    ]
    numbers = [(*spread(of, one), middle(of, one)) for one in alone]
    return shaken([(low, value, high) for low, high, value in numbers], count)


def _end(figure: Figure | None, end: str) -> Fraction:
    if figure is None:
        return ZERO
    value: Fraction = getattr(figure, end)
    return value


def _strength(ingredient: Ingredient, name: str, end: str) -> Fraction:
    """Strength per gram; for a least dose, doses per % of the formula."""
    if not name.startswith("least_dose_"):
        return _end(ingredient.figure(name), end)
    dose = _end(ingredient.figure(name), {"low": "high", "high": "low", "value": "value"}[end])
    return 1 / dose if dose else ZERO


def unit_of(of: Share | Level | Mean) -> str:
    if isinstance(of, Share):
        return "%"
    if isinstance(of, Level):
        return "doses" if of.strength.startswith("least_dose_") else "g xanthan per 100 g"
    units = {"density": "g/ml", "water_uptake": "g/g", "oil_uptake": "g/g"}
    return units.get(of.figure, "%")


def counted_by_law(rule: Legal, ingredient: Ingredient) -> Fraction:
    """Grams the law counts in one gram: every part at its highest content, times its factor."""
    total = ZERO
    listed = {part.substance.lower() for part in ingredient.composition or ()}
    for substance, factor in rule.members:
        if substance.lower() == ingredient.inci.lower() and substance.lower() not in listed:
            return factor
    for part in ingredient.composition or ():
        for substance, factor in rule.members:
            if part.substance.lower() == substance.lower():
                total += part.high / 100 * factor
                break
    return total


def doses_of(rule: Covers, ingredient: Ingredient, share: Fraction) -> Fraction:
    """How many of its own least doses the preservative stands at; nothing where the pH may stop it."""
    dose = ingredient.figure(f"least_dose_{rule.group}")
    if ingredient.group != "preservative" or dose is None or not dose.high:
        return ZERO
    limit = ingredient.figure("ph_works_max")
    if limit is None:
        if ingredient.kind == "preservative-acid":
            return ZERO
    elif rule.ph_top is None or rule.ph_top > limit.low:
        return ZERO
    return share / dose.high


def cost(amounts: Amounts) -> Fraction | None:
    """Currency per kg of formula, or None when a line has no price."""
    total = ZERO
    for slot, share in amounts.lines:
        pack = amounts.ingredients[slot.ingredient].pack
        if pack is None:
            return None
        total += share / 100 * (pack.price / (pack.grams / 1000))
    return total


def spread(of: Share | Level | Mean, amounts: Amounts) -> tuple[Fraction, Fraction]:
    """The measure at the low and at the high end of what the data say."""
    if isinstance(of, Share):
        return ends(of, amounts)
    if isinstance(of, Level):
        return (
            amounts.sum(lambda i: _strength(i, of.strength, "low"), of.phase),
            amounts.sum(lambda i: _strength(i, of.strength, "high"), of.phase),
        )
    return (
        amounts.sum(lambda i: _end(i.figure(of.figure), "low")) / 100,
        amounts.sum(lambda i: _end(i.figure(of.figure), "high")) / 100,
    )
