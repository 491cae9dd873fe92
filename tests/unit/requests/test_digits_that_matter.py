"""Limits reckoned from the base are shown in the digits that matter, without denying the state."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as some

from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import Head, Mean
from optimiser.export.verdict_words import told
from optimiser.requests.sentences import about, cut, raised, reckoned
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
        ("22.354", " (exactly 22.3575 %)"),
        ("27.327", " (exactly 27.3259 %)"),
    ],
)
def test_a_broken_rule_that_would_look_kept_tells_its_exact_limit(value: str, more: str) -> None:
    assert told(verdict(value)) == f"Mean solids: between 22.35 % and 27.33 %, as in the base (24.84).{more}"
