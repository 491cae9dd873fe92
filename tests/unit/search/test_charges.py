"""Opposite charges are counted and told; where no positive charge is known nothing is said."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.request import Slot
from optimiser.search.charges import opposite_charges
from tests.workflows.desk import demo

F = Fraction


def charged(name: str, figure: str, value: str, unit: str) -> Ingredient:
    one = demo().worktable.ingredients[name]
    known = next(iter(one.figures.values()))
    made: Figure = replace(known, value=F(value), low=F(value), high=F(value), unit=unit)
    return replace(one, figures={**one.figures, figure: made})


CATION = charged("behentrimonium-chloride", "cationic_charge", "2", "meq/g")
CLAY = charged("bentonite", "exchange_capacity", "85", "meq/100g")
SOAP = charged("sodium-coco-sulfate", "anionic_charge", "1", "meq/g")


def told(*lines: tuple[Ingredient, str]) -> list[str]:
    pot = tuple((Slot(one.id, "A"), F(share)) for one, share in lines)
    return [one.text for one in opposite_charges(Amounts(pot, {one.id: one for one, _ in lines}))]


def test_clay_takes_up_to_its_capacity() -> None:
    """2 g at 2 meq/g are 4 meq; 2 g of a clay of 85 meq/100 g take 1.7 of them, 42.5 %; 10 g take all."""
    (little,) = told((CATION, "2"), (CLAY, "2"))
    assert "4 meq of positive charge" in little
    assert "exchange 1.7: on paper up to 42.5 % of it" in little
    (much,) = told((CATION, "2"), (CLAY, "10"))
    assert "up to 100 % of it" in much


def test_a_twentieth_of_the_negative_charge_is_borne() -> None:
    assert told((CATION, "0.25"), (SOAP, "10")) == []
    assert told((CATION, "0.26"), (SOAP, "10"))
    (text,) = told((CATION, "2"), (SOAP, "10"))
    assert "4 meq of positive charge in 100 g beside 10 of negative" in text


def test_without_a_known_positive_charge_nothing_is_said() -> None:
    assert told((CLAY, "10"), (SOAP, "10")) == []
