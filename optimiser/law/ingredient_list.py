"""The ingredient list: lines split into substances, merged, and put in the order a place asks for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType

from optimiser.domain.ingredient import Ingredient, Part
from optimiser.domain.label import LabelRules, Listed
from optimiser.domain.outcome import Allergen
from optimiser.domain.request import Remark

ZERO, HUNDRED = Fraction(0), Fraction(100)
EMPTY: Mapping[str, str] = MappingProxyType({})
WHOLE = ("essential-oil", "perfume")
"""Kinds that stand in the list under their own name; of what they hold only allergens may be named."""
NATURAL = (*WHOLE, "hydrosol", "juice-or-infusion", "extract", "oil", "butter")
"""Kinds whose listed allergens come with nature: they are named above their threshold only."""
COLOUR = re.compile(r"CI \d{5}(:\d)?", re.IGNORECASE)
AND = re.compile(r"\s*\(and\)\s*|\s*;\s*", re.IGNORECASE)
UNDISCLOSED = Fraction(1, 2)
"""Points of an ingredient that may stay unnamed before it is told."""


@dataclass(frozen=True, slots=True)
class _Found:
    name: str
    low: Fraction
    value: Fraction
    high: Fraction
    colourant: bool
    placed: bool


def listed(
    lines: Iterable[tuple[Ingredient, Fraction]],
    allergens: Iterable[Allergen],
    rules: LabelRules,
    allergenic: frozenset[str] = frozenset(),
    named_as: Mapping[str, str] = EMPTY,
) -> tuple[tuple[Listed, ...], tuple[Remark, ...]]:
    """The list in order, and what has to be settled by hand.

    `lines` are (ingredient, % w/w of the batch as added); `allergens` those the formula holds, of which only
    those above their threshold are named. `allergenic` are names (in lower case) that some place lists as
    allergens: what a plant brings of them is no ingredient of its own. `named_as` is the name of the group by
    the name of each member: an oil that is a listed allergen itself, and above its threshold, stands once,
    under the group's name. Descending share; the tail too, though its order is free; colourants last.
    """
    present = [(ingredient, share) for ingredient, share in lines if share]
    named = {one.substance.casefold(): one for one in allergens if one.on_label}
    known = allergenic | named.keys()
    found: dict[str, Listed] = {}
    for ingredient, share in present:
        for part in _parts(ingredient, known, rules):
            group = named_as.get(part.name.casefold(), "")
            name = group if group.casefold() in named else part.name
            _merge(found, _scaled(replace(part, name=name), share), rules)
    for key, one in named.items():
        if key not in found:
            found[key] = Listed(one.substance, one.percent, ZERO, one.percent, allergen=True)
    placed = [replace(one, tail=_in_tail(one, rules) and not one.colourant) for one in found.values()]
    ordered = sorted(placed, key=lambda one: (one.colourant, one.tail, -one.percent, one.name.casefold()))
    return tuple(ordered), tuple(_remarks(present, ordered, rules))


def _in_tail(one: Listed, rules: LabelRules) -> bool:
    return one.percent <= rules.tail if rules.tail_with else one.percent < rules.tail


def _parts(ingredient: Ingredient, allergens: frozenset[str], rules: LabelRules) -> list[_Found]:
    """The names one ingredient brings, each with its share of it in %."""
    if ingredient.kind == "perfume":
        return [_whole(rules.scent, ingredient)]
    if ingredient.kind in WHOLE:
        return [_whole(ingredient.inci, ingredient)]
    if ingredient.composition is None or not _real(ingredient, allergens):
        names = [name for name in AND.split(ingredient.inci) if name]
        return [_whole(names[0], ingredient), *(_unplaced(name, ingredient) for name in names[1:])]
    return [
        _Found(part.substance, part.low, part.value, part.high, _is_colour(part.substance, ingredient), True)
        for part in _real(ingredient, allergens)
    ]


def _real(ingredient: Ingredient, allergens: frozenset[str]) -> list[Part]:
    """Parts that are ingredients themselves, not allergens that came along with a plant."""
    parts = ingredient.composition or ()
    if ingredient.kind not in NATURAL:
        return list(parts)
    return [part for part in parts if part.substance.casefold() not in allergens]


def _whole(name: str, ingredient: Ingredient) -> _Found:
    several = len([one for one in AND.split(ingredient.inci) if one]) > 1 and ingredient.kind not in WHOLE
    return _Found(name, ZERO if several else HUNDRED, HUNDRED, HUNDRED, _is_colour(name, ingredient), True)


def _unplaced(name: str, ingredient: Ingredient) -> _Found:
    return _Found(name, ZERO, ZERO, HUNDRED, _is_colour(name, ingredient), placed=False)


def _is_colour(name: str, ingredient: Ingredient) -> bool:
    return bool(COLOUR.fullmatch(name.strip())) or (ingredient.kind == "pigment" and name == ingredient.inci)


def _scaled(part: _Found, share: Fraction) -> _Found:
    low, value, high = (number * share / 100 for number in (part.low, part.value, part.high))
    return replace(part, low=low, value=value, high=high)


def _merge(found: dict[str, Listed], part: _Found, rules: LabelRules) -> None:
    name = rules.names.get(part.name, part.name)
    held = found.get(name.casefold())
    if held is None:
        held = Listed(name, ZERO, ZERO, ZERO, colourant=part.colourant, placed=False)
    found[name.casefold()] = replace(
        held,
        percent=held.percent + part.value,
        low=held.low + part.low,
        high=held.high + part.high,
        colourant=held.colourant and part.colourant,
        placed=held.placed or part.placed,
    )


def _remarks(
    present: list[tuple[Ingredient, Fraction]], ordered: list[Listed], rules: LabelRules
) -> list[Remark]:
    found = []
    for ingredient, _ in present:
        names = [name for name in AND.split(ingredient.inci) if name]
        if ingredient.composition is None and ingredient.kind not in WHOLE:
            text = f"What {ingredient.name} is made of is not in the files: place its parts by hand."
            found.append(Remark(ingredient.id, text))
        elif ingredient.composition and ingredient.kind not in NATURAL:
            rest = HUNDRED - sum((part.value for part in ingredient.composition), ZERO)
            if rest > UNDISCLOSED and len(names) <= len(ingredient.composition):
                text = f"{float(rest):.3g} % of {ingredient.name} is not named in the files: ask the seller."
                found.append(Remark(ingredient.id, text))
    unplaced = [one.name for one in ordered if not one.placed]
    if unplaced:
        text = f"The share of {', '.join(unplaced)} is not known: its place in the list is settled by hand."
        found.append(Remark("ingredient list", text))
    edge = [one.name for one in ordered if not one.colourant and _straddles(one, rules)]
    if edge:
        text = (
            f"{', '.join(edge)}: over the spread of the data above or below {float(rules.tail):g} %. "
            "It may stand with those above; what is below may not."
        )
        found.append(Remark("ingredient list", text))
    return found


def _straddles(one: Listed, rules: LabelRules) -> bool:
    return one.placed and not one.allergen and one.low < rules.tail < one.high
