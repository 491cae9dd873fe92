"""Limits reckoned from the base are shown in the digits that matter, without denying the state."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as some

from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import Head, Mean
from optimiser.domain.wanted import Span
from optimiser.export.verdict_words import told
from optimiser.requests.sentences import about, cut, raised, reckoned
from optimiser.requests.wants import _spoken, settle
from tests.small import fr


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        ("89.7026", "109.6364", "at least 89.7 %"),
        ("80.1", "100", "between 80.1 % and 100 %"),
        ("22.3575", "27.3259", "between 22.35 % and 27.33 %"),
        ("6.3", "7.7", "between 6.3 % and 7.7 %"),
        ("0.12345", None, "at least 0.1234 %"),
        (None, "12345.6", "at most 12346 %"),
        ("5.4321987", "5.4321987", "exactly 5.4322 %"),
        (None, None, "any amount"),
    ],
)
def test_four_digits_the_least_cut_the_most_raised(low: str | None, high: str | None, text: str) -> None:
    assert reckoned(low and fr(low), high and fr(high)) == text  # type: ignore[arg-type]


def test_what_the_base_has_is_rounded() -> None:
    assert [about(fr(one)) for one in ("24.8417", "99.6694", "0.3", "0")] == ["24.84", "99.67", "0.3", "0"]


@given(some.fractions(min_value=0, max_value=2000, max_denominator=10**6))
def test_what_is_shown_is_never_narrower_and_hardly_wider(limit: Fraction) -> None:
    low, high = cut(limit), raised(limit)
    assert low is not None
    assert high is not None
    assert low <= limit <= high
    assert high - low <= max(limit / 1000, Fraction(1, 10_000))


def verdict(value: str) -> Verdict:
    low, high = fr("22.3575"), fr("27.3259")
    sentence = f"Mean solids: {reckoned(low, high)}, as in the base (24.84)."
    rule = Mean(Head("carried#mean-solids", sentence, basis="carried"), "solids", low, high)
    margin = min(fr(value) - low, high - fr(value))
    return Verdict(rule, margin >= 0, fr(value), low, high, "%", margin)


@pytest.mark.parametrize(
    ("value", "more"),
    [
        ("24", ""),
        ("22.3575", ""),
        ("20", ""),
        ("22.3573", " (that is 22.3575 %)"),
        ("22.354", " (that is 22.3575 %)"),
        ("27.327", " (that is 27.3259 %)"),
    ],
)
def test_a_broken_rule_that_would_look_kept_tells_its_exact_limit(value: str, more: str) -> None:
    assert told(verdict(value)) == f"Mean solids: between 22.35 % and 27.33 %, as in the base (24.84).{more}"


def test_a_limit_as_written_that_is_missed_by_less_than_is_shown_tells_both() -> None:
    rule = Mean(
        Head("asked#solids", "Mean solids: at least 22.35 %.", basis="character"), "solids", fr("22.35"), None
    )
    value = fr("22.34999")
    missed = Verdict(rule, False, value, fr("22.35"), None, "%", value - fr("22.35"))
    assert told(missed) == "Mean solids: at least 22.35 %. (that is 22.35 %; it has 22.34999 %)"
    well = replace(missed, value=fr("22.3"))
    assert told(well) == "Mean solids: at least 22.35 %."


@pytest.mark.parametrize(
    ("asked", "text"),
    [
        (
            Span(low=fr("12.345"), high_part=fr("1.1")),
            "between 12.345 % and 22.01 % (the most: 110 % of the base)",
        ),
        (
            Span(low_part=fr("0.5"), high=fr("12.34567")),
            "between 10 % and 12.3457 % (the least: 50 % of the base)",
        ),
        (
            Span(low_part=fr("0.5"), high_part=fr("1.1")),
            "between 10 % and 22.01 % (50 % and 110 % of the base)",
        ),
        (Span(low_part=fr("0.5"), high_part=fr("7")), "at least 10 % (50 % of the base)"),
        (Span(low=fr("12.345")), "at least 12.345 %"),
    ],
)
def test_an_end_that_was_written_stays_as_written_beside_one_that_is_reckoned(asked: Span, text: str) -> None:
    base = fr("20.002")
    low, high = settle(asked, lambda: base)
    assert _spoken(asked, low, high) == text
