"""The pieces a request is closed from, each by itself."""

from __future__ import annotations

from fractions import Fraction

import pytest

from optimiser.domain.outcome import Proposals
from optimiser.domain.product import Product
from optimiser.domain.rules import Absent, Amount, Clash, Legal, Needs, Newcomers, Stock, UseRange
from optimiser.domain.selector import AnyOf, Pick
from optimiser.domain.wanted import Span
from optimiser.domain.worktable import Condition
from optimiser.requests.candidates import Needed, reason_against
from optimiser.requests.sentences import first_upper, number, span
from optimiser.requests.standing import facts_of, holds, read_selector
from optimiser.requests.wants import settle
from tests.small import INGREDIENTS
from tests.workflows.desk import FLAGSHIP, F, asked, base_of, closed, demo, proposed

ADULT = Product("leave-on", "face", "adult", "paste")


@pytest.mark.parametrize(
    ("value", "text"),
    [("5", "5"), ("0.40", "0.4"), ("1/6", "0.1667"), ("0.00001", "0"), ("100", "100"), ("-2.5", "-2.5")],
)
def test_a_number_in_a_sentence_has_four_decimals_at_most(value: str, text: str) -> None:
    assert number(Fraction(value)) == text


def test_spans_in_words() -> None:
    assert span(F(18), F(30)) == "between 18 % and 30 %"
    assert span(F(5), F(5)) == "exactly 5 %"
    assert span(F(18), None) == "at least 18 %"
    assert span(None, F(30), "") == "at most 30"
    assert span(None, None) == "any amount"
    assert first_upper("share of clay") == "Share of clay"
    assert first_upper("") == ""


@pytest.mark.parametrize(
    ("asked_for", "low", "high"),
    [
        (Span(within_part=F(1, 10)), F(18), F(22)),
        (Span(within_points=F(3)), F(17), F(23)),
        (Span(low_part=F(4, 5)), F(16), None),
        (Span(high_part=F(1, 2)), None, F(10)),
        (Span(low=F(1), high=F(2)), F(1), F(2)),
        (Span(within_points=F(50)), F(0), F(70)),
    ],
)
def test_a_span_is_settled_against_a_base_of_twenty(
    asked_for: Span, low: Fraction | None, high: Fraction | None
) -> None:
    assert settle(asked_for, lambda: F(20)) == (low, high)


def test_a_span_that_does_not_speak_of_the_base_never_asks_for_it() -> None:
    def base() -> Fraction:
        raise AssertionError("asked")

    assert settle(Span(low=F(1), high=None), base) == (F(1), None)


@pytest.mark.parametrize(
    ("sign", "value", "met"),
    [
        ("=", "5", True),
        ("!=", "5", False),
        ("<", "5", False),
        ("<=", "5", True),
        (">", "4", True),
        (">=", "6", False),
    ],
)
def test_a_condition_on_a_number(sign: str, value: str, met: bool) -> None:
    condition = Condition("ph_low", sign, value)  # type: ignore[arg-type]
    assert holds(condition, {"ph_low": F(5)}) is met


def test_a_condition_on_a_word_and_on_what_is_not_known() -> None:
    facts = facts_of(ADULT, None, watery=True)
    assert holds(Condition("water", "=", "yes"), facts)
    assert not holds(Condition("form", "!=", "paste"), facts)
    assert holds(Condition("ph_low", "<", "4"), facts)


def test_what_a_newcomer_lacks() -> None:
    kaolin = INGREDIENTS["kaolin"]
    plain = Needed((), (), water_free=False, product=ADULT)
    assert reason_against(kaolin, plain) is None
    lacks = Needed(("oil_uptake",), (), water_free=False, product=ADULT)
    assert reason_against(kaolin, lacks) == "no value for oil_uptake"
    dry = Needed((), (), water_free=True, product=ADULT)
    assert "brings water" in (reason_against(INGREDIENTS["water"], dry) or "")
    assert "brings water" in (reason_against(kaolin, dry) or ""), "water that is not known counts"


def test_selectors_of_process_csv() -> None:
    assert read_selector("kind:polyol") == Pick("kind", "polyol")
    assert read_selector("role:neutraliser or group:alkali") == AnyOf(
        (Pick("role", "neutraliser"), Pick("group", "alkali"))
    )


def test_a_closed_request_names_each_rule_once_and_sorts_them() -> None:
    request = closed(demo(), FLAGSHIP, "sensitive-skin", "nut-free")
    ids = [rule.head.id for rule in request.rules]
    assert ids == sorted(ids)
    assert len(set(ids)) == len(ids)
    assert all(rule.head.sentence.endswith(".") and rule.head.source for rule in request.rules)
    assert sum(request.base.values()) == 100
    assert set(request.ingredients) == {slot.ingredient for slot in request.slots}
    assert not {item.ingredient for item in request.set_aside} & set(request.ingredients)


def test_two_briefs_add_up_and_the_later_one_gives_aim_and_product() -> None:
    one = closed(demo(), FLAGSHIP, "leave-on", "cheapest")
    other = closed(demo(), FLAGSHIP, "cheapest", "leave-on")
    assert one.product.use == other.product.use == "leave-on"
    assert one.aim == ("cheapest",)
    assert other.aim == ("closest",)
    assert one.name == "Oat and rose clay mask · Leave it on + Cheapest jar"


def test_the_aim_said_by_hand_wins_over_the_brief() -> None:
    request = closed(demo(), FLAGSHIP, "cheapest", aim=("fewest-changes",))
    assert request.aim == ("fewest-changes",)


def test_a_swap_is_two_rules_and_the_new_one_is_used() -> None:
    proposal, request = proposed(demo(), FLAGSHIP, instead_of=("glycerin",), use=("propanediol",))
    absent = [r for r in request.rules if isinstance(r, Absent)]
    assert [str(rule.of) for rule in absent] == ["glycerin"]
    (used,) = [r for r in request.rules if isinstance(r, Amount) and r.ingredient == "propanediol"]
    assert used.low == (demo().worktable.ingredients["propanediol"].use_min or F(1, 100))
    assert "propanediol" in {line.ingredient for line in proposal.lines}


def test_hero_preservation_and_dosed_lines_are_floors_nobody_has_to_ask_for() -> None:
    request = closed(demo(), FLAGSHIP)
    base = base_of(request)
    floors = {
        r.ingredient: r.low for r in request.rules if isinstance(r, Amount) and r.head.basis == "carried"
    }
    for name in ("oat-flour", "rose-clay", "sodium-benzoate", "potassium-sorbate"):
        assert floors[name] == base[name]


def test_what_stands_without_being_asked() -> None:
    request = closed(demo(), "cooling-leg-gel")
    kinds = {type(rule) for rule in request.rules}
    assert {Legal, Clash, UseRange, Needs, Newcomers} <= kinds
    law = [r for r in request.rules if isinstance(r, Legal)]
    assert all(rule.head.source and rule.head.basis == "law" for rule in law)
    assert any("1223/2009" in rule.head.source for rule in law)
    covered = {r.head.id for r in request.rules if r.head.id.startswith("house#covers-")}
    assert covered == {"house#covers-bacteria", "house#covers-yeast", "house#covers-mould"}


def test_a_water_free_balm_is_not_asked_for_a_preservative() -> None:
    request = closed(demo(), "sunflower-balm")
    assert not [r for r in request.rules if r.head.id.startswith("house#covers-")]
    assert any("brings water into a water-free product" in item.reason for item in request.set_aside)


def test_stock_is_grams_in_date_over_the_batch() -> None:
    small, request = proposed(demo(), "sunflower-balm", only_from="shelf", batch="250 g")
    (stock,) = [r for r in request.rules if isinstance(r, Stock)]
    wax = sum(lot.grams for lot in demo().worktable.shelf if lot.ingredient == "beeswax")
    assert stock.most["beeswax"] == min(F(100), wax / 250 * 100)
    large = asked(demo(), "sunflower-balm", only_from="shelf", batch="200 kg")
    (less,) = [r for r in large.request.rules if isinstance(r, Stock)]
    assert less.most["beeswax"] == wax / 200_000 * 100
    assert not isinstance(large, Proposals) or large.proposals != (small,)


def test_another_strength_of_what_is_there_is_no_newcomer() -> None:
    request = closed(demo(), FLAGSHIP)
    made_of = {
        name: {part.substance.casefold() for part in i.composition or ()} - {"aqua"}
        for name, i in request.ingredients.items()
    }
    same = [
        name
        for name, parts in made_of.items()
        if name not in request.formula.ingredients
        and len(parts) == 1
        and parts in [made_of[own] for own in request.formula.ingredients]
    ]
    assert same
    assert not set(same) & request.newcomers


def test_what_is_left_out_by_substance_goes_wherever_it_hides() -> None:
    proposal, request = proposed(demo(), FLAGSHIP, leave_out=("substance:glycerin",))
    for line in proposal.lines:
        parts = request.ingredients[line.ingredient].composition
        assert parts is not None
        assert "glycerin" not in {part.substance.casefold() for part in parts}
