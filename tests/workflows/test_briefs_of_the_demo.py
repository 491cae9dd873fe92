"""What a maker looks for in the answer to each brief of the demo."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.outcome import Proposals
from optimiser.domain.rules import Covers
from tests.workflows.desk import (
    FLAGSHIP,
    F,
    asked,
    base_of,
    copied,
    demo,
    group_share,
    impossible,
    is_sound,
    line_of,
    proposed,
    put,
    shares,
    table_in,
)

FORMULAS = sorted(demo().worktable.formulas)
MICROBES = {"bacteria", "yeast", "mould"}


def thickening(amounts: dict[str, Fraction]) -> Fraction:
    """Grams of xanthan that would thicken as much, per 100 g."""
    known = demo().worktable.ingredients
    figures = {name: known[name].figure("thickening") for name in amounts}
    return sum((share * f.value for n, share in amounts.items() if (f := figures[n])), F(0))


def test_sensitive_skin_swaps_the_strong_clay_and_keeps_the_mask_a_mask() -> None:
    proposal, request = proposed(demo(), FLAGSHIP, "sensitive-skin")
    is_sound(proposal, request)
    now, base = shares(proposal), base_of(request)
    assert base["bentonite"] == 6
    assert all(request.ingredients[name].flag("strong-clay") == "free" for name in now)
    assert 18 <= group_share(proposal, request, "clay") <= 30
    assert abs(thickening(now) / thickening(base) - 1) <= F(1, 10)
    covered = {v.rule.group for v in proposal.verdicts if isinstance(v.rule, Covers) and v.met}
    assert covered == MICROBES
    gone = {(answer.removed, answer.role) for answer in proposal.roles}
    assert gone == {("bentonite", role) for role in request.ingredients["bentonite"].roles}
    assert all(answer.now for answer in proposal.roles)
    assert {"label", "stability", "challenge test"} <= {remark.about for remark in proposal.sets_off}


def test_sixty_per_cent_clay_is_impossible_and_the_concession_tells_how_much_is_not() -> None:
    outcome = impossible(demo(), FLAGSHIP, "impossible-clay")
    names = {rule.head.id for rule in outcome.conflicts[0].rules}
    assert "briefs/impossible-clay#Clay at least 60 %" in names
    cure = outcome.concessions[0]
    assert cure.proposal is not None
    clay = group_share(cure.proposal, outcome.request, "clay")
    assert 18 < clay < 60
    assert cure.asked == "at least 60 %"
    assert abs(clay - F(cure.enough.removeprefix("at least ").removesuffix(" %"))) < F(1, 10)


@pytest.mark.parametrize("formula", FORMULAS)
def test_the_cheapest_jar_is_proved_so_and_keeps_its_heroes_and_its_preservation(formula: str) -> None:
    proposal, request = proposed(demo(), formula, "cheapest")
    stage = next(stage for stage in proposal.stages if stage.name == "cost")
    assert stage.optimal
    assert proposal.cost_per_kg == stage.value
    assert abs(stage.value - stage.bound) < F(1, 1000) * stage.bound
    now, base = shares(proposal), base_of(request)
    price = sum(base[n] / 100 * (request.ingredients[n].price_per_kg or 0) for n in base)
    assert stage.value <= price
    for hero in request.formula.hero:
        assert now[hero] >= base[hero]
    for name in base:
        if request.ingredients[name].group == "preservative":
            assert now.get(name, F(0)) >= base[name]


def test_the_cheapest_rose_mask_has_its_rose_and_its_oat() -> None:
    proposal, _ = proposed(demo(), FLAGSHIP, "cheapest")
    now = shares(proposal)
    assert now["rose-clay"] >= 3
    assert now["oat-flour"] >= 2
    assert proposal.cost_per_kg is not None
    assert proposal.cost_per_kg < F(45, 10)


def test_bare_is_cheaper_and_says_what_it_let_go() -> None:
    guarded, _ = proposed(demo(), FLAGSHIP, aim=("cheapest",))
    bare, request = proposed(demo(), FLAGSHIP, aim=("cheapest",), bare=True)
    assert bare.cost_per_kg is not None
    assert guarded.cost_per_kg is not None
    assert bare.cost_per_kg < guarded.cost_per_kg
    assert [remark.about for remark in request.dropped] == ["bare"]
    assert shares(bare)["rose-clay"] >= 3
    is_sound(bare, request)


def test_another_thickener_is_one_newcomer_that_thickens() -> None:
    proposal, request = proposed(demo(), FLAGSHIP, "another-thickener")
    now, base = shares(proposal), base_of(request)
    assert "xanthan" not in now
    (came,) = set(now) - set(base)
    assert request.ingredients[came].figure("thickening") is not None
    assert abs(thickening(now) / thickening(base) - 1) <= F(1, 10)


@pytest.mark.parametrize("formula", ["oat-rose-mask", "rose-serum", "oat-face-wash"])
def test_another_preservative_still_covers_all_three(formula: str) -> None:
    proposal, request = proposed(demo(), formula, "another-preservative")
    now = shares(proposal)
    assert not {"sodium-benzoate", "potassium-sorbate", "isothiazolinone-blend"} & set(now)
    assert not [n for n in now if request.ingredients[n].kind == "preservative-releaser"]
    preservatives = {n for n in now if request.ingredients[n].group == "preservative"}
    for group in MICROBES:
        doses = [
            (now[n], figure.high)
            for n in preservatives
            if (figure := request.ingredients[n].figure(f"least_dose_{group}"))
        ]
        assert any(share >= least for share, least in doses), group


@pytest.mark.parametrize("formula", FORMULAS)
def test_no_line_of_a_nut_free_answer_is_flagged_or_unknown(formula: str) -> None:
    proposal, request = proposed(demo(), formula, "nut-free")
    for name in shares(proposal):
        for flag in ("tree-nut", "peanut", "sesame"):
            assert request.ingredients[name].flag(flag) == "free", (name, flag)


def test_a_line_whose_flag_was_never_filled_in_goes_like_a_flagged_one(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    flags = (folder / "flags.csv").read_text(encoding="utf-8")
    old = line_of(flags, "calendula-extract,tree-nut,")
    put(folder, "flags.csv", flags.replace(old, "calendula-extract,tree-nut,unknown,,"))
    assert table_in(folder).worktable.ingredients["calendula-extract"].flag("tree-nut") == "unknown"
    before, _ = proposed(demo(), FLAGSHIP, "nut-free")
    after, request = proposed(table_in(folder), FLAGSHIP, "nut-free")
    assert "calendula-extract" in shares(before)
    assert "calendula-extract" not in shares(after)
    assert request.ingredients["calendula-extract"].flag("peanut") == "free"


@pytest.mark.parametrize("formula", FORMULAS)
def test_from_the_shelf_takes_only_what_lots_in_date_hold(formula: str) -> None:
    proposal, request = proposed(demo(), formula, "from-the-shelf")
    table = demo().worktable
    for name, share in shares(proposal).items():
        there = sum(
            (
                lot.grams
                for lot in table.shelf
                if lot.ingredient == name
                and (lot.expires is None or lot.expires >= table.settings.rules_date)
            ),
            F(0),
        )
        assert share * request.batch_g / 100 <= there, name


def test_leave_on_reads_the_limits_again_and_lists_what_moved() -> None:
    proposal, request = proposed(demo(), "wheat-hair-conditioner", "leave-on")
    texts = [remark.text for remark in request.consequences]
    assert texts[0] == "Use: was rinse-off, is now leave-on."
    assert any("counted as benzoic acid: at most 0.5 %" in t and "It was 2.5 %" in t for t in texts)
    assert any("at most 1 %" in t and "Cetrimonium" in t for t in texts)
    assert {r.text for r in request.consequences} <= {r.text for r in proposal.sets_off}
    limits = {r.head.id: r for r in request.rules if r.head.basis == "law"}
    assert any(
        getattr(r, "maximum", None) == F(1, 2) and "benzoic" in r.head.sentence for r in limits.values()
    )


@pytest.mark.parametrize("formula", ["oat-rose-mask", "oat-face-wash", "apricot-face-lotion"])
def test_fewest_ingredients_has_no_more_of_them_and_keeps_the_body(formula: str) -> None:
    proposal, request = proposed(demo(), formula, "fewest-ingredients")
    now, base = shares(proposal), base_of(request)
    assert len(now) <= len(base)
    (stage,) = [stage for stage in proposal.stages if stage.name == "ingredients"]
    assert stage.optimal
    assert stage.value == len(now)
    assert 0 <= stage.value - stage.bound <= 1, "the bound comes from rows that may be a little too kind"
    if formula == FLAGSHIP:
        assert 18 <= group_share(proposal, request, "clay") <= 30
    assert abs(thickening(now) / thickening(base) - 1) <= F(1, 10)


def test_alternatives_are_far_apart_and_no_more_than_asked() -> None:
    outcome = asked(demo(), FLAGSHIP, "another-thickener", alternatives=3)
    assert isinstance(outcome, Proposals)
    found = outcome.proposals
    assert len(found) == 3
    for one in found:
        is_sound(one, outcome.request)
        new = set(shares(one)) - set(base_of(outcome.request))
        assert all(shares(one)[name] >= (outcome.request.ingredients[name].use_min or 0) for name in new)
    assert len({one.heading for one in found}) == len(found)
    departures = [sum(part for _, part in one.departure_parts) for one in found]
    assert all(one <= departures[0] + 10 + F("0.02") for one in departures)
    differ = min(a.ingredients for one in found for a in one.apart)
    assert differ >= 4


def test_a_hero_that_goes_is_said_under_name_and_claims() -> None:
    outcome = asked(demo(), FLAGSHIP, leave_out=("oat-flour",))
    assert isinstance(outcome, Proposals)
    said = [r.text for r in outcome.proposals[0].sets_off if r.about == "name and claims"]
    assert said == ["Oat flour, fine is gone: name and front label would no longer be true."]


@pytest.mark.parametrize(
    ("formula", "group"),
    [("cooling-leg-gel", "carbomer"), ("aloe-gel-mask", "polyol"), ("sunflower-balm", "butter")],
)
def test_a_formula_without_targets_carries_its_own(formula: str, group: str) -> None:
    assert not demo().worktable.formulas[formula].targets
    proposal, request = proposed(demo(), formula, aim=("fewest-ingredients",))
    base = base_of(request)
    before = sum((v for n, v in base.items() if request.ingredients[n].group == group), F(0))
    carried = [r for r in request.rules if r.head.basis == "carried"]
    assert carried
    assert before > 0
    if f"carried#share-{group}" in {r.head.id for r in carried}:
        assert abs(group_share(proposal, request, group) / before - 1) <= F(1, 10)
    for hero in request.formula.hero:
        assert shares(proposal)[hero] >= base[hero]
    assert len(set(shares(proposal)) - set(base)) <= 2
