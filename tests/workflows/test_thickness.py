"""Another thickener, same thickness: answered with a dose, and held by reading where it cannot be told."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from optimiser.domain.outcome import Measure, Proposal, Undecided
from optimiser.domain.rules import Thickness
from tests.workflows.desk import (
    FLAGSHIP,
    asked,
    closed,
    copied,
    demo,
    is_sound,
    proposed,
    put,
    shares,
    slots,
    table_in,
    third_of,
)

F = Fraction
BRIEF = """name: Other gum
leave_out:
  - ingredient: xanthan
targets:
  - thickness: {within: %s of base, at: %s}
  - newcomers: {at_most: 1}
"""


def brief(tmp_path: Path, text: str) -> Path:
    folder = copied(tmp_path)
    put(folder, "briefs/other.yaml", text)
    return folder


def thick(proposal: Proposal) -> Measure:
    (found,) = [measure for measure in proposal.measures if measure.name.startswith("thickness at ")]
    return found


def test_the_mask_stays_as_thick_when_xanthan_goes(tmp_path: Path) -> None:
    proposal, request = proposed(table_in(brief(tmp_path, BRIEF % ("10 %", "1/s"))), FLAGSHIP, "other")
    is_sound(proposal, request)
    found = thick(proposal)
    assert found.base is not None
    assert found.value is not None
    assert F(9, 10) * found.base <= found.value <= F(11, 10) * found.base
    now = shares(proposal)
    (came,) = [name for name in now if name in request.newcomers]
    assert request.ingredients[came].figure("viscosity_1pct")
    assert "xanthan" not in now


def test_the_shear_is_that_of_the_rule(tmp_path: Path) -> None:
    """Stirred a hundred times faster, xanthan is 100 ** 0.8 times thinner, and the base with it."""
    found = []
    for number, shear in enumerate(("1/s", "100/s")):
        folder = brief(
            tmp_path / str(number),
            "name: B\ntargets:\n  - thickness: {within: 5 % of base, at: " + shear + "}\n",
        )
        proposal, request = proposed(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "other")
        is_sound(proposal, request)
        found.append(thick(proposal).base)
    assert found[0] is not None
    assert found[1] is not None
    assert abs(float(found[0] / found[1]) / 100**0.8 - 1) < 0.01


def test_a_lotion_is_held_by_reading(tmp_path: Path) -> None:
    """Its body is that of a fatty alcohol, which no law here describes."""
    text = "name: Same\ntargets:\n  - thickness: {within: 30 % of base}\n"
    proposal, request = proposed(table_in(brief(tmp_path, text)), "apricot-face-lotion", "other")
    (rule,) = [rule for rule in request.rules if isinstance(rule, Thickness)]
    assert not rule.predicted
    assert any("the thickness is not predicted" in remark.text for remark in request.by_hand)
    (verdict,) = [v for v in proposal.verdicts if v.rule is rule]
    assert verdict.met
    assert verdict.note.startswith("held by reading")


def test_what_the_prediction_cannot_settle_is_undecided_and_not_impossible(tmp_path: Path) -> None:
    """No gum may stand and the paste is to be ten times as thick: clay might do it, no row can say so."""
    text = (
        "name: Thick\nleave_out:\n  - any: [{group: gum}, {group: cellulose-ether}, {group: carbomer}]\n"
        "targets:\n  - thickness: {at_least: 900 Pa.s}\n  - newcomers: {at_most: 3}\n"
    )
    folder = brief(tmp_path, text)
    from_file = (folder / "formulas" / "oat-rose-mask.yaml").read_text("utf-8")
    start, end = from_file.index("  - level: thickening"), from_file.index("  - mean: solids")
    put(folder, "formulas/oat-rose-mask.yaml", from_file[:start] + from_file[end:])
    outcome = asked(table_in(folder), FLAGSHIP, "other")
    assert isinstance(outcome, Undecided), outcome
    assert "thickness" in outcome.why


def test_the_demo_has_newcomers_set_aside_for_want_of_constants(tmp_path: Path) -> None:
    request = closed(table_in(brief(tmp_path, BRIEF % ("30 %", "1/s"))), FLAGSHIP, "other")
    why = {item.ingredient: item.reason for item in request.set_aside}
    assert "no thickness could be predicted" in why["beeswax"]
    assert "no thickness" not in " ".join(i.reason for i in closed(demo(), FLAGSHIP).set_aside)


def test_free_liquid_is_the_sum_of_what_flows_less_what_is_drunk(tmp_path: Path) -> None:
    text = "name: Wetter\ntargets:\n  - free_liquid: {at_least: LIMIT %}\n"
    folder = brief(tmp_path / "a", text.replace("LIMIT", "0"))
    proposal, request = proposed(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "other")
    (found,) = [measure for measure in proposal.measures if measure.name == "free liquid, predicted"]
    by_hand = F(0)
    for slot, share in slots(proposal).items():
        one = request.ingredients[slot.ingredient]
        water, drunk = one.figure("water_content"), one.figure("water_uptake")
        assert water is not None
        by_hand += share * (1 if one.group == "polyol" else water.value / 100)
        by_hand -= share * (drunk.value if drunk else 0)
    assert found.value == round(by_hand, 2)
    more = by_hand + 3
    folder = brief(tmp_path / "b", text.replace("LIMIT", f"{float(more):.4f}"))
    wetter, again = proposed(third_of(table_in(folder), FLAGSHIP), FLAGSHIP, "other")
    is_sound(wetter, again)
    (now,) = [measure for measure in wetter.measures if measure.name == "free liquid, predicted"]
    assert now.value is not None
    assert now.value >= round(more, 2)
