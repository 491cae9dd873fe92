"""The rows of all tables joined into ingredients: what is inherited, true by nature, or borrowed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import TypeVar

from optimiser.domain.ingredient import Figure, FlagState, Ingredient, Pack, Part, Way
from optimiser.domain.vocabulary import Vocabulary
from optimiser.loading.findings import shown
from optimiser.loading.ingredients import BLEND, Listed
from optimiser.loading.names import Reader
from optimiser.loading.origin import with_origin_counted
from optimiser.loading.owners import Owned
from optimiser.loading.process import WAY
from optimiser.loading.properties import borrowed, by_nature
from optimiser.units.quantities import read_amount

WHOLE = Fraction(100)
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Tables:
    """What the other tables say."""

    flags: Owned[FlagState]
    figures: Owned[Figure]
    composition: Mapping[str, tuple[Part, ...]]
    ways: Owned[Way]


def own_figures(
    listed: tuple[Listed, ...], figures: Owned[Figure], vocabulary: Vocabulary
) -> dict[str, Mapping[str, Figure]]:
    """Figures by ingredient without borrowed ones: its own, its kind's, its group's, and the true zeros."""
    kinds = {(one.ingredient.kind, one.ingredient.group) for one in listed}
    zeros = {each: by_nature(*each, vocabulary.properties) for each in kinds}
    return {
        one.ingredient.id: {
            **zeros[one.ingredient.kind, one.ingredient.group],
            **figures.of(one.ingredient.id, one.ingredient.kind, one.ingredient.group),
        }
        for one in listed
    }


def join(
    listed: tuple[Listed, ...], tables: Tables, vocabulary: Vocabulary, reader: Reader
) -> Mapping[str, Ingredient]:
    """Ingredients by id, in the order of their ids."""
    figures = own_figures(listed, tables.figures, vocabulary)
    ways = {
        one.ingredient.id: tables.ways.of(one.ingredient.id, one.ingredient.kind, one.ingredient.group).get(
            WAY
        )
        for one in listed
    }
    joined: dict[str, Ingredient] = {}
    for one in listed:
        ingredient = one.ingredient
        composition = _composition(ingredient, tables.composition, vocabulary)
        lender = _lender(one, reader)
        lent = borrowed(figures[lender], lender, vocabulary.properties) if lender in figures else {}
        joined[ingredient.id] = replace(
            ingredient,
            like=lender,
            pack=_pack(one, figures[ingredient.id], reader),
            flags=MappingProxyType(
                _sorted(tables.flags.of(ingredient.id, ingredient.kind, ingredient.group))
            ),
            figures=MappingProxyType(
                _sorted(with_origin_counted({**lent, **figures[ingredient.id]}, composition))
            ),
            composition=composition,
            way=ways[ingredient.id] or ways.get(lender),
        )
    return MappingProxyType(_sorted(joined))


def _sorted(values: Mapping[str, T]) -> dict[str, T]:
    return dict(sorted(values.items()))


def _lender(one: Listed, reader: Reader) -> str:
    """The id that `like` names, or nothing."""
    word = one.ingredient.like
    if not word:
        return ""
    line, cell = one.row.line, one.row.cell("like")
    found = reader.ingredient(word, line, one.ingredient.id, cell)
    if found == one.ingredient.id:
        reader.findings.add(line, found, "another ingredient after like", shown(word), cell=cell)
        return ""
    return found or ""


def _pack(one: Listed, figures: Mapping[str, Figure], reader: Reader) -> Pack | None:
    text = one.row["pack_size"]
    if not text:
        return None
    density = figures.get("density")
    read = read_amount(text, reader.names.decimal, density=density.value if density else None)
    grams = reader.findings.number(one.row.line, one.ingredient.id, read, one.row.cell("pack_size"))
    if grams == 0:
        reader.findings.add(
            one.row.line,
            one.ingredient.id,
            "a pack of more than 0 g",
            shown(text),
            cell=one.row.cell("pack_size"),
        )
    return Pack(grams, one.price) if grams and one.price is not None else None


def _composition(
    ingredient: Ingredient, composition: Mapping[str, tuple[Part, ...]], vocabulary: Vocabulary
) -> tuple[Part, ...] | None:
    """The rows; an ingredient of a single-substance kind is all of its INCI name; else not known."""
    rows = composition.get(ingredient.id)
    if rows is not None:
        return rows
    if vocabulary.kinds[ingredient.kind].composition == "single" and BLEND not in ingredient.inci:
        return (Part(ingredient.inci, WHOLE, WHOLE, WHOLE, f"by nature of {ingredient.kind}"),)
    return None
