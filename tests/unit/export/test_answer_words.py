"""Sentences of an answer that the terminal and the page share."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.domain.outcome import Proposal, Stage
from optimiser.domain.request import Request
from optimiser.export.answer_words import roles, summary

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
