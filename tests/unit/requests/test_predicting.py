"""When a pH window is predicted, and what is then asked of the lines that may come."""

from __future__ import annotations

from pathlib import Path

from optimiser.checks.acidity import reach_of
from optimiser.checks.amounts import Amounts
from optimiser.domain.outcome import Impossible, Outcome, Proposal, Proposals
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Acidity
from optimiser.science.acidity import solve_ph
from optimiser.science.formula import profiles_for
from tests.workflows.desk import (
    FLAGSHIP,
    F,
    asked,
    asked_anew,
    changed,
    closed,
    copied,
    demo,
    line_of,
    proposed,
    put,
    table_in,
    third_of,
)

PH = "name: A window\ntargets:\n  - ph: {between: [4.5, 6.5]}\n    name: Window\n"


def window(request: Request) -> Acidity:
    (rule,) = [rule for rule in request.rules if isinstance(rule, Acidity)]
    return rule


def dropped(folder: Path, start: str) -> None:
    """Takes the one line of properties.csv that begins so out."""
    old = line_of((folder / "properties.csv").read_text(encoding="utf-8"), start)
    changed(folder, "properties.csv", lambda text: text.replace(old + "\n", ""))


def test_the_flagship_s_window_is_predicted_with_its_own_adjuster() -> None:
    request = closed(demo(), FLAGSHIP)
    rule = window(request)
    assert rule.predicted
    assert rule.adjusters == ("citric-acid-20",)
    assert not [remark for remark in request.by_hand if "not predicted" in remark.text]


def test_acid_preservatives_in_the_base_make_it_a_matter_of_safety() -> None:
    assert window(closed(demo(), FLAGSHIP)).head.basis == "safety"
    request = closed(demo(), "aloe-gel-mask", leave_out=())
    assert not any(isinstance(rule, Acidity) for rule in request.rules)


def test_without_an_acid_preservative_it_stays_what_it_was(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/a-window.yaml", PH)
    request = closed(table_in(folder), "aloe-gel-mask", "a-window")
    rule = window(request)
    assert rule.predicted
    assert rule.head.basis == "character"
    assert not rule.head.at_worst


BRINGS = """\
  - share: {kind: preservative-acid}
    at_least: 0.4 %
    name: Acid preservative
"""


def test_an_acid_preservative_that_comes_makes_it_a_matter_of_safety(tmp_path: Path) -> None:
    """The base has none: its window is one of character until one comes, and then at the worst values."""
    folder = copied(tmp_path)
    put(folder, "briefs/a-window.yaml", PH)
    put(folder, "briefs/brings.yaml", PH.replace("A window", "Brings") + BRINGS)
    plain, without = proposed(table_in(folder), "aloe-gel-mask", "a-window")
    assert "sodium-benzoate" in window(without).preservatives
    assert [v.rule.head.basis for v in plain.verdicts if isinstance(v.rule, Acidity)] == ["character"]
    brought, request = proposed(table_in(folder), "aloe-gel-mask", "brings")
    there = {line.ingredient for line in brought.lines}
    assert there & set(window(request).preservatives)
    (verdict,) = [v for v in brought.verdicts if isinstance(v.rule, Acidity)]
    assert verdict.rule.head.basis == "safety"
    now = tuple(sorted((Slot(x.ingredient, x.phase), x.percent) for x in brought.lines))
    reach = reach_of(window(request).adjusters, Amounts(now, request.ingredients), request)
    assert reach is not None
    assert reach.alkaline_range[0] >= 4.6 - 1e-6
    assert reach.acid_range[1] <= 6.4 + 1e-6


def test_where_a_must_leaves_them_all_out_no_preservative_hangs_on_the_window(tmp_path: Path) -> None:
    rule = window(closed(demo(), FLAGSHIP, leave_out=("kind:preservative-acid",)))
    assert rule.predicted
    assert rule.preservatives == ()
    assert rule.head.basis == "character"


def test_a_wish_is_predicted_but_stays_a_wish(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/a-window.yaml", PH.replace("name: Window", "name: Window\n    wish: 1"))
    request = closed(table_in(folder), "aloe-gel-mask", "a-window")
    rule = window(request)
    assert rule.predicted
    assert rule.head.rank == 1
    assert rule.head.basis == "wish"


def test_a_gap_in_the_base_leaves_the_window_to_the_reading_and_says_so(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    dropped(folder, "kaolin,buffer_slope,")
    request = closed(table_in(folder), FLAGSHIP)
    rule = window(request)
    assert not rule.predicted
    assert rule.adjusters == ()
    (remark,) = [one for one in request.by_hand if one.about == "kaolin"]
    assert "buffer_slope" in remark.text
    assert "the reading at the table decides" in remark.text


def test_a_newcomer_whose_charge_is_not_known_is_set_aside_and_says_why(tmp_path: Path) -> None:
    before = closed(demo(), FLAGSHIP)
    assert "white-illite" in before.ingredients
    folder = copied(tmp_path)
    dropped(folder, "white-illite,buffer_slope,")
    request = closed(table_in(folder), FLAGSHIP)
    assert window(request).predicted
    assert "white-illite" not in request.ingredients
    (why,) = [item.reason for item in request.set_aside if item.ingredient == "white-illite"]
    assert why.startswith("its charge is not known")


def test_without_a_window_nobody_is_set_aside_for_it(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    dropped(folder, "white-illite,buffer_slope,")
    request = closed(table_in(folder), "aloe-gel-mask")
    assert not [item for item in request.set_aside if "charge is not known" in item.reason]


def test_a_base_outside_what_can_be_predicted_is_held_by_reading(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    put(folder, "briefs/a-window.yaml", PH)
    changed(
        folder,
        "formulas/aloe-gel-mask.yaml",
        lambda text: text.replace("propanediol: 8 %", "propanediol: 20 %"),
    )
    request = closed(table_in(folder), "aloe-gel-mask", "a-window")
    assert not window(request).predicted
    (remark,) = [one for one in request.by_hand if one.about == "pH"]
    assert "glycols" in remark.text
    assert "the reading at the table decides" in remark.text


def test_what_takes_the_adjuster_s_place_is_dosed_too() -> None:
    proposal, request = proposed(demo(), FLAGSHIP, leave_out=("citric-acid-20",))
    rule = window(request)
    assert rule.predicted
    dosed = {line.ingredient for line in proposal.lines if line.dosed}
    assert dosed
    assert dosed <= set(rule.adjusters)
    assert dosed <= {slot.ingredient for slot in request.dosed}
    assert {request.ingredients[name].group for name in dosed} <= {"acid", "alkali"}


def test_while_the_adjuster_stays_no_other_acid_may_come() -> None:
    request = closed(demo(), FLAGSHIP)
    assert {s.ingredient for s in request.dosed} == {"citric-acid-20"}
    assert not {
        name
        for name, one in request.ingredients.items()
        if one.group in ("acid", "alkali") and name != "citric-acid-20"
    }


def test_the_answer_is_about_the_same_request_when_asked_again() -> None:
    one, two = (asked_anew(demo(), "rose-serum").request for _ in range(2))
    assert window(one) == window(two)
    assert window(one) == window(closed(demo(), "rose-serum"))
    assert window(one).low == F("4.5")


def two(folder: Path, low: str, high: str, more: str = "") -> Outcome:
    """The aloe gel with pH 4.5 to 5 asked in one brief and another window in a second."""
    put(folder, "briefs/one.yaml", "name: One\ntargets:\n  - ph: {between: [4.5, 5]}\n    name: First\n")
    text = f"name: Two\ntargets:\n  - ph: {{between: [{low}, {high}]}}\n    name: Second\n{more}"
    put(folder, "briefs/two.yaml", text)
    return asked(third_of(table_in(folder), "aloe-gel-mask"), "aloe-gel-mask", "one", "two")


def test_two_windows_that_no_one_reading_lies_in_are_a_conflict_of_the_two(tmp_path: Path) -> None:
    """The acid passes through both on its way down; the jar is read once."""
    outcome = two(copied(tmp_path), "6.5", "7")
    assert isinstance(outcome, Impossible)
    assert [rule.head.id.split("#")[1] for rule in outcome.conflicts[0].rules] == ["First", "Second"]
    assert outcome.conflicts[0].certified


def test_two_windows_that_overlap_are_met_together(tmp_path: Path) -> None:
    assert isinstance(two(copied(tmp_path), "4.8", "7"), Proposals)


def test_a_wished_window_out_of_reach_is_come_as_near_to_as_the_musts_allow(tmp_path: Path) -> None:
    """Told in pH; counted in steps of 1 % of the limit, by the buffer of the base: within a factor of 2."""
    folder = copied(tmp_path)
    wish = "name: Low\ntargets:\n  - ph: {between: [1.6, 2]}\n    name: Low\n    wish: 1\n"
    put(folder, "briefs/low.yaml", wish + "  - newcomers: {at_most: 0}\n    name: N\n")
    plain, _ = proposed(table_in(folder), "aloe-gel-mask")
    near, request = proposed(table_in(folder), "aloe-gel-mask", "low")
    (missed,) = near.unmet_wishes
    assert missed.unit == "pH"
    assert missed.margin is not None
    (steps,) = [stage.value for stage in near.stages if stage.name == "wishes of rank 1"]
    assert 0.5 < steps * F("0.02") / -missed.margin < 2
    assert ph_of(near, request) <= ph_of(plain, request)


def ph_of(proposal: Proposal, request: Request) -> float:
    grams = {line.ingredient: line.percent for line in proposal.lines}
    found = solve_ph(grams, profiles_for((request.ingredients[n] for n in grams), request.substances)).ph
    assert found is not None
    return found


def test_a_window_that_is_only_wished_gives_way(tmp_path: Path) -> None:
    outcome = two(copied(tmp_path), "6.5", "7", "    wish: 1\n")
    assert isinstance(outcome, Proposals)
    (missed,) = outcome.proposals[0].unmet_wishes
    assert "no one reading" in missed.note
