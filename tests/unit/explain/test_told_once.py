"""What holds a line is told once."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.rules import Head, Rule, Share
from optimiser.domain.selector import Pick
from optimiser.explain.holding import told_once

TENTHS = "at least 6.3 %, nine tenths of the base."


def _share(sentence: str, low: int, high: int | None = None, basis: str = "carried") -> Rule:
    of = Pick("group", "wax")
    ceiling = None if high is None else Fraction(high)
    return Share(Head(sentence, sentence, "", basis=basis), of, Fraction(low), ceiling)  # type: ignore[arg-type]


def test_a_floor_that_the_band_has_too_goes() -> None:
    band = "Share of wax: between 6 % and 8 %, as in the base (7)."
    assert told_once([_share(f"Share of wax: {TENTHS}", 6), _share(band, 6, 8)]) == (band,)


def test_a_floor_above_the_band_stays() -> None:
    band = "Share of wax: between 5 % and 8 %, as in the base (7)."
    floor = f"Share of wax: {TENTHS}"
    assert told_once([_share(floor, 6), _share(band, 5, 8)]) == (floor, band)


def test_shares_with_one_floor_are_told_together() -> None:
    rules = [
        _share(f"Share of wax: {TENTHS}", 6),
        _share(f"Share of what is there for occlusive: {TENTHS}", 6),
    ]
    assert told_once(rules) == (f"Share of wax and share of what is there for occlusive: {TENTHS}",)


def test_what_is_not_carried_over_stays_as_it_is() -> None:
    rules = [_share("Wax: at most 8 %.", 0, 8, "house"), _share("Oil: at most 8 %.", 0, 8, "house")]
    assert told_once(rules) == ("Wax: at most 8 %.", "Oil: at most 8 %.")
    assert told_once([*rules, *rules]) == ("Wax: at most 8 %.", "Oil: at most 8 %.")
