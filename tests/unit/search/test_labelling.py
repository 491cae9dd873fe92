"""What a change does to the allergen line, and what the answer says about crystals and claims."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient, Part
from optimiser.domain.request import LabelLimit, Request, Slot
from optimiser.search.effects import MOST_WARNINGS, sets_off, warnings
from optimiser.search.labelling import allergen_sentences, percent
from optimiser.search.proposal import dress
from tests.small import INGREDIENTS, figure, request

F = Fraction
KAOLIN, ILLITE, WATER = Slot("kaolin", "B"), Slot("illite", "B"), Slot("water", "B")


def limit(name: str, threshold: str = "0.01") -> LabelLimit:
    return LabelLimit(name, ((name, F(1)),), F(threshold), "test")


def holding(name: str, substance: str | None) -> Ingredient:
    parts = None if substance is None else (Part(substance, F(1, 10), F(0), F(1, 10)),)
    return replace(INGREDIENTS[name], composition=parts)


def asked(**held: str | None) -> Request:
    changed = {name: holding(name, substance) for name, substance in held.items()}
    labels = (limit("Linalool"), limit("Limonene"))
    return replace(
        request(), ingredients={**INGREDIENTS, **changed}, labels=labels, labels_before=labels, pulls=()
    )


def swapped(one: Request) -> dict[Slot, Fraction]:
    shares = dict(one.base)
    shares[ILLITE] = shares.pop(KAOLIN)
    return shares


def line(one: Request, shares: Mapping[Slot, Fraction]) -> list[str]:
    return [remark.text for remark in sets_off(one, shares) if remark.about == "allergen line"]


def test_the_line_says_which_names_come_and_which_go() -> None:
    one = asked(kaolin="Linalool", illite="Limonene")
    assert line(one, swapped(one)) == ["To be named now: Limonene (0.016 %); no longer: Linalool."]
    assert line(one, one.base) == []


def test_another_use_moves_the_line_without_moving_a_gram() -> None:
    one = replace(asked(kaolin="Linalool"), labels=(limit("Linalool", "0.1"),))
    assert line(one, one.base) == ["No longer: Linalool."]


def test_a_newcomer_of_unknown_make_up_is_named() -> None:
    one = asked(illite=None)
    (text,) = line(one, swapped(one))
    assert text.startswith("Not counted")
    assert "Illite" in text
    told = allergen_sentences(dress(one, swapped(one), ()), one)
    assert told[0].startswith("None of those that could be counted")
    assert "Illite" in told[-1]


def test_shares_round_up_so_that_none_looks_like_its_threshold() -> None:
    assert percent(F("0.0010001")) == "0.00101"
    assert percent(F("0.001")) == "0.001"
    assert percent(F("12.34567")) == "12.4"
    assert percent(F(250)) == "250"
    assert percent(F(0)) == "0"


def test_what_does_not_dissolve_stands_beside_its_line_among_five() -> None:
    sorbate = replace(INGREDIENTS["sorbate"], figures={"solubility": figure("0.1")})
    one = replace(request(), ingredients={**INGREDIENTS, "sorbate": sorbate})
    found = warnings(one, one.base)
    assert len(found) <= MOST_WARNINGS
    (remark,) = [each for each in found if each.about == "sorbate"]
    assert "dissolve" in remark.text


def test_a_claim_of_natural_origin_that_breaks_is_set_off() -> None:
    base = request()
    origin = {
        name: replace(
            each, figures={**each.figures, "natural_origin": figure("0" if name == "illite" else "100")}
        )
        for name, each in INGREDIENTS.items()
    }
    formula = replace(base.formula, claims=("natural origin at least 95 %",))
    one = replace(base, ingredients=origin, formula=formula, pulls=())
    told = {remark.about: remark.text for remark in sets_off(one, swapped(one))}
    assert "84 %" in told["name and claims"]
    assert "name and claims" not in {remark.about for remark in sets_off(one, one.base)}
    dressed = dress(one, one.base, ())
    assert any("holds, it is 100 %" in remark.text for remark in dressed.on_paper)
    assert next(m for m in dressed.measures if m.name == "natural origin").value == 100
