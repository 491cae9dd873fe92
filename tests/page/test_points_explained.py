"""The points of a departure are explained where they are first told, in words that stand in the page."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.request import Weights
from tests.page.conftest import Visitor

WAX = {"rule": "line:", "name": "beeswax", "low": "6.5", "high": "6.5", "revision": "0"}


def test_points_are_explained_once_and_as_they_are_weighed(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/limit", **WAX)
    text = visitor.answer(path)
    told = text.index("Departure from the base")
    explained = text.index("Points count how far it is from the base")
    assert told < explained < text.index("A computed proposal")
    assert text.count("Points count how far") == 1
    weights = Weights()
    assert weights.points == weights.line / 2
    assert (weights.parts, weights.pulls) == (Fraction(1), Fraction(2))
    assert f"Newcomers: {weights.newcomer} for" in text
    assert f"lacks, {weights.line} for any other" in text


def test_where_nothing_moves_no_point_is_told_or_explained(visitor: Visitor) -> None:
    path = visitor.change("sunflower-balm")
    visitor.post(f"{path}/say", what="aim", name="closest", revision="0")
    text = visitor.answer(path)
    assert "Nothing has to change" in text
    assert "Points count" not in text
