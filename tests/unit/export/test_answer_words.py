"""Sentences of an answer that the terminal and the page share."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.outcome import Concession, Proposal, Stage
from optimiser.domain.request import Request
from optimiser.export.answer_words import in_short, roles, summary

Job = tuple[Proposal, Request]


def test_a_proposal_that_is_the_base_says_that_nothing_has_to_change(mask: Job) -> None:
    proposal, request = mask
    same = replace(
        proposal,
        lines=tuple(replace(line, base=line.percent) for line in proposal.lines),
        changes=(),
        departure_parts=(("points moved", Fraction(0)),),
    )
    told = summary(same, request)
    assert told.startswith("Nothing has to change. Material cost")
    assert "points" not in told.split("Material")[0]
    cheapest = replace(same, stages=(Stage("cost", Fraction(4), Fraction(4), True, "EUR/kg"),))
    assert summary(cheapest, request).startswith("Nothing changes. Material cost")
    pulled = replace(same, departure_parts=(("measures moved", Fraction(2)),))
    assert summary(pulled, request).startswith("Nothing has to change. Departure from the base 2 points")
    assert summary(proposal, request).startswith("Departure from the base 9 points")


def test_a_role_is_written_as_in_the_tables(mask: Job) -> None:
    told = roles(*mask)
    assert any(" (viscosity controlling): " in text for text in told)
    assert not any("viscosity-controlling" in text for text in told)


@pytest.mark.parametrize(
    ("gone", "come", "told"),
    [
        (0, 0, "It costs 5.00 EUR/kg (in full below)."),
        (1, 0, "It costs 5.00 EUR/kg (in full below). 1 ingredient goes."),
        (2, 1, "It costs 5.00 EUR/kg (in full below). 2 ingredients go, 1 comes."),
        (0, 1, "It costs 5.00 EUR/kg (in full below). 1 ingredient comes."),
        (1, 2, "It costs 5.00 EUR/kg (in full below). 1 ingredient goes, 2 come."),
    ],
)
def test_a_way_out_says_how_many_ingredients_go_and_come(mask: Job, gone: int, come: int, told: str) -> None:
    proposal, request = mask
    base = sorted({slot.ingredient for slot, share in request.base.items() if share})
    lines = [(name, Fraction(1)) for name in (*base[gone:], *(f"new-{n}" for n in range(come)))]
    absent = (base[0], Fraction(0)) if gone else ("new-9", Fraction(0))
    way = Concession(
        request.rules[0], "", "", "", Fraction(1), proposal, lines=(*lines, absent), cost_per_kg=Fraction(5)
    )
    assert in_short(way, request).strip() == told
    moves = in_short(replace(way, proposal=None), request)
    assert moves.endswith(told.removeprefix("It costs 5.00 EUR/kg (in full below)."))
    assert in_short(replace(way, lines=()), request) == ""
