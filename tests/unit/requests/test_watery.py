"""A product counts as watery by what its ingredients hold, with or without a stated water content."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType

from optimiser.domain.formula import Formula, Line, Phase
from optimiser.domain.ingredient import Figure, Ingredient, Part
from optimiser.domain.product import Product
from optimiser.requests.candidates import is_watery
from tests.small import INGREDIENTS

NO_FIGURES: Mapping[str, Figure] = MappingProxyType({})


def watery(ingredient: Ingredient, share: str = "100") -> bool:
    rest = replace(INGREDIENTS["glycerin"], figures=NO_FIGURES, composition=None)
    lines = (Line(ingredient.id, Fraction(share)), Line("rest", 100 - Fraction(share)))
    formula = Formula("it", "It", Product(), (Phase("A", "", lines),), Fraction(100))
    return is_watery(formula, {ingredient.id: ingredient, "rest": rest})


def test_water_without_a_stated_content_is_water() -> None:
    """Else nothing would ask such a product for a preservative."""
    assert watery(replace(INGREDIENTS["water"], figures=NO_FIGURES))
    assert watery(replace(INGREDIENTS["water"], figures=NO_FIGURES, composition=None), "4")
    assert not watery(replace(INGREDIENTS["water"], figures=NO_FIGURES), "3")


def test_a_solution_counts_by_its_parts() -> None:
    parts = tuple(
        Part(name, Fraction(share), Fraction(share), Fraction(share))
        for name, share in (("Decyl Glucoside", 50), ("Aqua", 50))
    )
    wash = replace(INGREDIENTS["glycerin"], id="wash", figures=NO_FIGURES, composition=parts)
    assert watery(wash, "7")
    assert not watery(wash, "6")


def test_what_is_no_water_and_states_none_counts_for_nothing() -> None:
    assert not watery(replace(INGREDIENTS["glycerin"], id="oil", figures=NO_FIGURES, composition=None))
