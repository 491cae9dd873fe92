"""Products that are not served."""

from __future__ import annotations

import pytest

from optimiser.law.refusals import refusals


def about(area: str = "face", age: str = "adult", form: str = "", claims: tuple[str, ...] = ()) -> list[str]:
    return [r.about for r in refusals(use="leave-on", area=area, age=age, form=form, claims=claims)]


def test_a_usual_product_is_served() -> None:
    assert about() == []
    assert about(area="hair", age="from 6", form="shampoo") == []
    assert about(area="body", age="12+") == []


@pytest.mark.parametrize("area", ["eye", "eyes", "eye area", "lips", "lip", "mouth", "broken skin", "wounds"])
def test_areas_that_are_not_served(area: str) -> None:
    assert about(area=area) == ["area"]


@pytest.mark.parametrize("age", ["under 3", "baby", "0-3", "toddler", "2 years", "18 months", "<3"])
def test_nothing_for_children_under_three(age: str) -> None:
    assert about(age=age) == ["age"]


def test_nothing_for_the_nappy_area() -> None:
    assert about(area="nappy") == ["age"]


def test_an_age_that_cannot_be_read_is_asked_for() -> None:
    (refusal,) = refusals(use="leave-on", area="face", age="grown", form="")
    assert '"grown" cannot be read' in refusal.sentence
    assert 'Write "adult"' in refusal.sentence


@pytest.mark.parametrize(
    "claim",
    ["SPF 15", "sunscreen", "treats eczema", "for acne treatment", "pregnancy balm", "heals psoriasis"],
)
def test_claims_that_are_not_served(claim: str) -> None:
    assert "claim" in about(claims=(claim,))


def test_every_refusal_has_a_sentence_and_a_source() -> None:
    found = refusals(
        use="", area="eyes and lips, broken skin", age="baby", form="sunscreen", claims=("cures eczema",)
    )
    assert {r.about for r in found} == {"area", "age", "claim"}
    assert all(r.sentence.endswith(".") and r.source for r in found)
