"""Low-risk lines: what surely holds takes the place of coverage, and has to be kept."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Figure, Part
from optimiser.domain.request import Slot
from optimiser.domain.rules import Forecast, Head, Share
from optimiser.requests.low_risk import driest, low_risk_of, water_free
from tests.small import INGREDIENTS

ETHANOL = replace(
    INGREDIENTS["glycerin"], id="spirit", inci="Alcohol Denat. (and) Aqua",
    composition=(Part("Alcohol Denat.", Fraction(95), Fraction(94), Fraction(96)),),
)  # fmt: skip
KNOWN = {**INGREDIENTS, "spirit": ETHANOL}


def base(**shares: str) -> Amounts:
    return Amounts(tuple((Slot(name, "A"), Fraction(share)) for name, share in shares.items()), KNOWN)


def test_a_watery_gel_is_not_low_risk() -> None:
    found = low_risk_of(base(water="95", glycerin="5"), (Fraction(5), Fraction(6)))
    assert not found.counts
    assert found.rules == ()


def test_ethanol_counts_by_what_is_surely_there() -> None:
    assert not low_risk_of(base(water="78.8", spirit="21.2"), None).counts
    found = low_risk_of(base(water="78", spirit="22"), None)
    assert found.counts
    (rule,) = found.rules
    assert isinstance(rule, Share)
    assert rule.low == Fraction("20.001")
    assert rule.head.at_worst
    assert "microbial count" in found.remarks[0].text


def test_a_sour_window_keeps_itself() -> None:
    found = low_risk_of(base(water="100"), (Fraction(2), Fraction("2.9")))
    assert found.counts
    assert found.rules == ()
    assert not low_risk_of(base(water="100"), (Fraction(2), Fraction(3))).counts


def water(percent: str) -> Figure:
    return Figure(Fraction(percent), Fraction(percent), Fraction(percent), "%", "invented")


def test_a_product_without_water_says_what_ends_its_low_risk() -> None:
    dry, damp = (replace(INGREDIENTS["glycerin"], figures={"water_content": water(w)}) for w in ("0.5", "30"))
    bare = replace(INGREDIENTS["glycerin"], figures={})
    lines = ((Slot("glycerin", "A"), Fraction(100)),)
    (remark,) = water_free(Amounts(lines, {"glycerin": dry}))
    assert "Wet hands" in remark.text
    assert remark.source.startswith("ISO 29621")
    assert water_free(Amounts(lines, {"glycerin": damp})) == ()
    assert water_free(Amounts(lines, {"glycerin": bare})) == ()


def test_a_must_on_water_activity_well_below_the_line_counts_as_low_risk() -> None:
    def must(high: str, *, predicted: bool = True, rank: int | None = None) -> Forecast:
        return Forecast(Head("t", "Dry.", rank=rank), "water_activity", None, Fraction(high), predicted)

    wet = base(water="40", glycerin="60")
    assert low_risk_of(wet, None, driest([must("0.74")])).counts
    for rule in (must("0.748"), must("0.75"), must("0.7", predicted=False), must("0.7", rank=1)):
        assert not low_risk_of(wet, None, driest([rule])).counts
