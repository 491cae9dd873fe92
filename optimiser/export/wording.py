"""Names and amounts in words, in one place for a whole sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import get_args

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.selector import Field, Pick
from optimiser.export.plain import clean
from optimiser.units.numbers import DecimalMark, show_number

_FIELDS: Mapping[str, Field] = {name: name for name in get_args(Field)}


@dataclass(frozen=True, slots=True)
class Wording:
    """How names and numbers are written: `decimal` is the mark between whole and part."""

    ingredients: Mapping[str, Ingredient]
    decimal: DecimalMark = "point"

    def name(self, identifier: str) -> str:
        ingredient = self.ingredients.get(identifier)
        return clean(ingredient.name if ingredient else identifier) or clean(identifier)

    def names(self, identifiers: Iterable[str]) -> str:
        return joined(self.name(one) for one in identifiers)

    def number(self, value: Fraction, places: int = 3, *, trim: bool = True) -> str:
        return show_number(value, places, decimal=self.decimal, trim=trim)

    def grams(self, value: Fraction, places: int) -> str:
        return f"{self.number(value, places, trim=False)} g"


def joined(words: Iterable[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    listed = list(words)
    if len(listed) < 2:
        return "".join(listed)
    return f"{', '.join(listed[:-1])} and {listed[-1]}"


def sentence(text: str) -> str:
    """The text with a full stop, when it has no end of its own."""
    plain = clean(text)
    return plain if not plain or plain[-1] in ".!?:…" else f"{plain}."


def pick_from(text: str) -> Pick | None:
    """`kind:polyol` as a selector; None for anything else."""
    field, colon, name = text.partition(":")
    known = _FIELDS.get(field.strip())
    return Pick(known, name.strip()) if colon and known and name.strip() else None
