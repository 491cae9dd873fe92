"""Numbers that are drawn: each once, by its spread, and what stands fast is not."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from optimiser.checks.drawing import Numbers, added, as_drawn, most, of_selector, over_lines
from optimiser.domain.ingredient import Figure, Part
from optimiser.domain.selector import AnyOf, Pick
from tests.small import fr, ingredient

PARTS = (Part("Linalool", fr(30), fr(20), fr(60)), Part("Aqua", fr(70), fr(70), fr(70)))
SOLIDS = Figure(fr(8), fr(5), fr(9), "%", "invented", "measured")
OIL = replace(ingredient("oil", "scent", "scent", "1"), composition=PARTS, figures={"solids": SOLIDS})


def test_a_number_without_a_spread_stands_fast_and_one_with_it_is_drawn() -> None:
    numbers = Numbers()
    assert numbers.part(OIL, 1) == 0.7
    assert numbers.figure(OIL, "density") == 0
    assert numbers.figure(OIL, "density", 2.5) == 2.5
    assert numbers.spreads == []
    part, solids = numbers.part(OIL, 0), numbers.figure(OIL, "solids")
    assert callable(part)
    assert callable(solids)
    assert (part([25.0, 6.0]), solids([25.0, 6.0])) == (0.25, 6.0)
    assert numbers.spreads == [(20, 60, 30), (5, 9, 8)]


def test_a_number_is_drawn_once_however_often_it_is_asked_for() -> None:
    numbers = Numbers()
    for _ in range(3):
        numbers.part(OIL, 0)
        numbers.figure(OIL, "solids")
    drawn = numbers.draw(random.Random(1))
    assert len(drawn) == 2
    assert 20 <= drawn[0] <= 60
    assert 5 <= drawn[1] <= 9
    made = as_drawn({"oil": OIL}, numbers, drawn)["oil"]
    assert float(made.figures["solids"].value) == drawn[1]
    assert made.composition is not None
    assert [float(part.value) for part in made.composition] == [drawn[0], 70]
    assert [part.low == part.high for part in made.composition] == [True, True]
    known = replace(OIL, composition=None)
    assert as_drawn({"oil": known}, Numbers(), [])["oil"] == known


@pytest.mark.parametrize(
    ("pick", "surely", "at_most"),
    [
        (Pick("substance", "LINALOOL"), 0.25, 0.25),
        (Pick("substance", "Aqua"), 0.7, 0.7),
        (Pick("substance", "Citral"), 0.0, 0.0),
        (Pick("flag", "nut"), 0.0, 1.0),
        (Pick("group", "scent"), 1.0, 1.0),
        (AnyOf((Pick("substance", "Linalool"), Pick("substance", "Aqua"))), 0.7, 0.7),
        (AnyOf((Pick("substance", "Linalool"), Pick("flag", "nut"))), 0.25, 1.0),
    ],
)
def test_a_selector_counts_what_was_drawn(pick: Pick | AnyOf, surely: float, at_most: float) -> None:
    for most_of_it, part in ((False, surely), (True, at_most)):
        found = of_selector(pick, OIL, Numbers(), at_most=most_of_it)
        assert (found([25.0]) if callable(found) else found) == part


def test_sums_and_the_most_of_what_is_fixed_and_what_moves() -> None:
    assert added([2.0, 3.0]) == 5
    assert added([2.0, 3.0], [10.0, 1.0]) == 23
    moving = added([2.0, lambda values: values[0]], [1.0, -1.0])
    assert callable(moving)
    assert moving([5.0]) == -3
    assert most([]) == 0
    assert most([2.0, 3.0]) == 3
    highest = most([2.0, lambda values: values[0]])
    assert callable(highest)
    assert (highest([1.0]), highest([4.0])) == (2, 4)


def test_a_sum_over_lines_says_whether_it_rests_on_a_draw() -> None:
    fast, drawn = over_lines([0.5, 0.0, 2.0]), over_lines([0.5, lambda values: values[0]])
    assert (fast.drawn, drawn.drawn) == (False, True)
    assert fast.fixed == ((0, 0.5), (2, 2.0))
    assert fast([10.0, 20.0, 30.0], []) == 65
    assert drawn([10.0, 20.0], [0.25]) == 10
