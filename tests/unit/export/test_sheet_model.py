"""What stands on the sheet."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.formula import Step
from optimiser.domain.ingredient import Figure, Way
from optimiser.domain.outcome import Proposal, ProposedLine, Stage
from optimiser.domain.request import Remark, Request
from optimiser.domain.trials import Expected
from optimiser.export.sheet import Sheet, SheetPhase, SheetStep
from optimiser.export.sheet_checks import checks_of
from optimiser.export.sheet_foretold import foretold_checks
from optimiser.export.sheet_model import build_sheet
from optimiser.export.sheet_steps import STAGES
from optimiser.export.wording import Wording
from optimiser.loading.reference import load_vocabulary
from tests.unit.export.jobs import PROVENANCE, sheet_of, weighing_of

F = Fraction

Job = tuple[Proposal, Request]


def _phase(sheet: Sheet, name: str) -> SheetPhase:
    return next(phase for phase in sheet.phases if phase.name == name)


def _step(sheet: Sheet, begin: str) -> SheetStep:
    return next(step for phase in sheet.phases for step in phase.steps if step.text.startswith(begin))


def _texts(phase: SheetPhase) -> list[str]:
    return [step.text for step in phase.steps]


def test_the_stages_are_those_of_the_reference_in_its_order() -> None:
    stages = load_vocabulary().stages
    assert tuple(sorted(stages, key=lambda name: stages[name].order)) == STAGES


def test_lines_stand_by_phase_and_sum_up(mask_sheet: Sheet) -> None:
    assert [phase.name for phase in mask_sheet.phases] == ["A", "B", "C", "D", "E"]
    assert len(mask_sheet.lines) == 18
    assert sum(line.grams for line in mask_sheet.lines) == mask_sheet.batch_g == 250
    assert mask_sheet.new == 100
    assert _phase(mask_sheet, "C").old == 25
    kaolin = next(line for line in mask_sheet.lines if line.ingredient == "kaolin")
    assert (kaolin.old, kaolin.new, kaolin.grams, kaolin.low, kaolin.high) == (
        F(12),
        F(18),
        F(45),
        F("44.55"),
        F("45.45"),
    )


def test_a_step_goes_with_all_it_is_about_and_is_marked_for_a_part(mask_sheet: Sheet) -> None:
    words = " ".join(step.text for phase in mask_sheet.phases for step in phase.steps)
    assert "xanthan slurry" not in words
    assert "swell for an hour" not in words
    assert (
        _step(mask_sheet, "Stir the gum").check == "Check this step: Xanthan gum is no longer in the formula."
    )
    assert (
        _step(mask_sheet, "Sieve the clays").check
        == "Check this step: Bentonite is no longer in the formula."
    )
    assert _step(mask_sheet, "Stir until smooth").check == ""
    assert "Steps 1 and 6: still right without what went out." in mask_sheet.before


def test_a_step_that_names_what_went_is_marked_though_it_is_not_about_it(mask: Job) -> None:
    proposal, request = mask
    phases = tuple(
        replace(p, steps=(*p.steps, Step("Wait until the bentonite is wet."))) if p.name == "E" else p
        for p in request.formula.phases
    )
    sheet = sheet_of(proposal, replace(request, formula=replace(request.formula, phases=phases)))
    assert _step(sheet, "Wait until").check == "Check this step: Bentonite is no longer in the formula."


def test_a_step_about_a_line_that_moved_to_another_phase_is_marked(mask: Job) -> None:
    proposal, request = mask
    lines = tuple(replace(one, phase="B") if one.ingredient == "panthenol" else one for one in proposal.lines)
    sheet = sheet_of(replace(proposal, lines=lines), request)
    assert _step(sheet, "Below 40").check == "Check this step: Panthenol 75 % is no longer in this phase."


def test_a_new_line_brings_its_step_with_carrier_wait_and_wear(mask_sheet: Sheet) -> None:
    step = _step(mask_sheet, "Konjac gum")
    assert step.ready
    assert step.kind == "new"
    assert step.text == (
        "Konjac gum, 0.55 g: stir into the polyol until no dry specks are left and pour into the moving "
        "water. Carrier: 5.50 g of Glycerin, 10 parts to 1. Leave for 45 min. Wear: dust mask."
    )


def test_a_line_without_a_known_way_is_never_a_ready_step(mask_sheet: Sheet) -> None:
    step = _step(mask_sheet, "Moss milk")
    assert step.text == "Moss milk, 1.00 g: no known way of adding: decide before starting."
    assert not step.ready
    assert step.kind == "undecided"
    assert _phase(mask_sheet, "E").steps[0] == step
    assert "Step 10: way of adding decided." in mask_sheet.before


def _with_way(job: Job, identifier: str, way: Way, phase: str = "") -> Sheet:
    proposal, request = job
    lines = tuple(
        replace(one, phase=phase) if phase and one.ingredient == identifier else one for one in proposal.lines
    )
    proposal = replace(proposal, lines=lines)
    ingredients = dict(request.ingredients)
    ingredients[identifier] = replace(ingredients[identifier], way=way)
    return sheet_of(proposal, replace(request, ingredients=ingredients))


@pytest.mark.parametrize(
    ("way", "says"),
    [
        (
            Way("slurry", "stir in", "kind:butter", F(10)),
            "It wants a carrier (kind butter, 10 parts to 1), which no line is.",
        ),
        (
            Way("slurry", "stir in", "kind:polyol", F(100)),
            "It wants 55.00 g of carrier (Glycerin, 100 parts to 1) and the formula has 12.50 g.",
        ),
        (Way("water", "dust on", needs="role:neutraliser"), "It needs role neutraliser, which no line is."),
    ],
)
def test_a_step_that_lacks_what_it_needs_is_not_ready(mask: Job, way: Way, says: str) -> None:
    step = _step(_with_way(mask, "konjac", way), "Konjac gum")
    assert step.check == f"{says} Decide before starting."
    assert not step.ready


def test_a_carrier_from_another_phase_is_named_with_it(mask: Job) -> None:
    step = _step(_with_way(mask, "konjac", Way("slurry", "stir in", "kind:oil", F(10))), "Konjac gum")
    assert (
        "Carrier: 5.50 g of Sunflower oil, high oleic and Jojoba oil (phase D), 10 parts to 1." in step.text
    )
    assert step.ready


def test_a_new_step_stands_where_its_stage_belongs(mask: Job) -> None:
    sheet = _with_way(mask, "moss-milk", Way("cool-down", "stir in", add_to_c=F(35)))
    texts = _texts(_phase(sheet, "E"))
    assert texts[0].startswith("Below 40")
    assert texts[1] == "Moss milk, 1.00 g: stir in. At 35 °C or cooler."
    assert texts[2] == "Set the pH."


def test_a_fat_is_in_the_pot_before_the_step_that_melts(mask: Job) -> None:
    oil = _with_way(mask, "moss-milk", Way("oil", "weigh into the oil pot", add_to_c=F(75)), phase="D")
    assert [text[:9] for text in _texts(_phase(oil, "D"))] == ["Moss milk", "Melt the ", "Off the h"]
    late = _with_way(mask, "moss-milk", Way("oil", "stir in off the heat", add_to_c=F(60)), phase="D")
    assert [text[:9] for text in _texts(_phase(late, "D"))] == ["Melt the ", "Moss milk", "Off the h"]


def test_a_dosed_line_is_a_ceiling_with_a_way_to_reach_it(mask_sheet: Sheet) -> None:
    line = next(one for one in mask_sheet.lines if one.dosed)
    assert (line.low, line.grams, line.high) == (F(0), F("7.50"), F("7.50"))
    step = _step(mask_sheet, "Citric acid 20 % in water: weigh")
    assert "weigh up to 7.50 g. Add half (3.75 g)" in step.text
    assert "drop by drop to pH 5.0; stop at 7.50 g" in step.text
    assert _phase(mask_sheet, "E").steps[-1] == step
    held = _phase(mask_sheet, "B").steps[0]
    assert held.kind == "hold back"
    assert held.text.startswith("Hold back 7.50 g of Water")


def test_a_formula_without_steps_gets_them_from_its_lines(balm_sheet: Sheet) -> None:
    (phase,) = balm_sheet.phases
    assert _texts(phase)[0] == "Shea butter, 18.00 g: melt with the other fats until clear. At 70 to 85 °C."
    assert [step.number for step in phase.steps] == [1, 2, 3, 4]


def test_readings_follow_the_product(mask_sheet: Sheet, balm_sheet: Sheet) -> None:
    ph = [check for check in mask_sheet.checks if check.what.startswith("pH")]
    assert [check.when for check in ph] == ["before filling", "after 1 h", "after 24 h", "after 1 week"]
    assert {check.target for check in ph} == {"4.5 to 5.4"}
    assert any(
        check.what == "Temperature before Panthenol 75 %" and check.target == "35 °C or cooler"
        for check in mask_sheet.checks
    )
    assert not [check for check in balm_sheet.checks if check.what.startswith("pH")]
    assert balm_sheet.on_paper == ()


def test_cautions_stand_beside_their_line_and_none_is_left_out(mask: Job) -> None:
    proposal, request = mask
    many = tuple(Remark("kaolin" if n % 2 else "", f"Caution {n}") for n in range(9))
    sheet = sheet_of(replace(proposal, warnings=many), request)
    beside = next(line for line in sheet.lines if line.ingredient == "kaolin").cautions
    assert beside == ("Caution 1.", "Caution 3.", "Caution 5.", "Caution 7.")
    assert sheet.cautions[:-1] == ("Caution 0.", "Caution 2.", "Caution 4.", "Caution 6.", "Caution 8.")
    assert sheet.cautions[-1].startswith("First use on skin")


def test_what_is_on_paper_says_how_far_and_what_it_does_not_show(mask: Job) -> None:
    proposal, request = mask
    assert sheet_of(*mask).on_paper == (
        "Covers bacteria, yeast and mould on paper at pH up to 5.4.",
        "Only a challenge test shows whether it holds.",
    )
    verdicts = tuple(replace(v, met="mould" not in v.rule.head.id) for v in proposal.verdicts)
    unsure = replace(proposal, verdicts=verdicts, stages=(Stage("departure", F(9), F(8), False),))
    assert sheet_of(unsure, request).on_paper[1:] == (
        "Does not cover mould on paper.",
        "Only a challenge test shows whether it holds.",
        "It meets every must; that no other formula does it with less was not proved.",
    )
    assert "Nothing was asked about cover" in sheet_of(replace(proposal, verdicts=()), request).on_paper[0]


def test_changes_bring_their_reasons_and_who_does_the_work_now(mask_sheet: Sheet) -> None:
    rows = {row.name: row for row in mask_sheet.changes}
    assert [row.how for row in mask_sheet.changes] == ["out", "out", "in", "in", "moved", "moved"]
    assert rows["Bentonite"].because == (
        "Nothing that is or may be flagged strong-clay. It draws too hard on dry skin.",
    )
    assert rows["Bentonite"].work == (
        "absorbent: now White kaolin 18 % and Rose clay 4 %",
        "suspending: now no line",
    )
    assert rows["Water"].because == ("It makes up 100 %.",)
    assert [(note.what, note.text) for note in mask_sheet.unmet] == [
        ("wish 1", "At least 6 % oil. It is missed by 0.5 %.")
    ]


def test_small_lines_are_flagged_with_the_batch_that_cures_it(mask: Job) -> None:
    sheet = sheet_of(*mask, F(20))
    konjac = next(line for line in sheet.lines if line.ingredient == "konjac")
    assert konjac.notes == ("Under 10 steps of 0.01 g: a finer balance or a bigger batch (46 g or more).",)
    proposal, request = mask
    soluble = Figure(F(30), F(20), F(40), "g/100g", "invented")
    known = replace(request.ingredients["konjac"], figures={"solubility": soluble})
    asked = replace(request, ingredients={**request.ingredients, "konjac": known})
    line = next(one for one in sheet_of(proposal, asked, F(20)).lines if one.ingredient == "konjac")
    assert "a pre-dilution, a finer balance or a bigger batch" in line.notes[0]
    assert not [line for line in sheet_of(*mask, F(50)).lines if line.ingredient == "konjac" and line.notes]


def test_a_large_batch_shows_only_what_each_balance_reads(mask: Job) -> None:
    lines = {line.ingredient: line for line in sheet_of(*mask, F(2000)).lines}
    assert (lines["kaolin"].grams, lines["kaolin"].places) == (F(360), 0)
    assert (lines["water"].grams, lines["water"].places) == (F("1019.60"), 2)
    assert lines["water"].notes == ("1019 g on the coarse balance, 0.60 g on the fine one.",)


def test_a_batch_in_ounces_is_rounded_and_said(balm: Job) -> None:
    sheet = sheet_of(*balm, F("226.796185"))
    assert sheet.batch_g == F("226.80")
    assert sheet.batch_note == "asked: 226.796 g, rounded to what the balance reads"


def test_numbers_use_the_decimal_mark_of_the_table(mask: Job) -> None:
    sheet = build_sheet(
        *mask, weighing=weighing_of(mask[0], F(250)), provenance=PROVENANCE, title="T", decimal="comma"
    )
    assert _step(sheet, "Konjac gum").text.startswith("Konjac gum, 0,55 g:")
    assert "4,5 to 5,4" in {check.target for check in sheet.checks}


def test_an_ingredient_in_two_phases_keeps_two_lines(mask: Job) -> None:
    proposal, request = mask
    lines = [replace(one, percent=one.percent - 1) if one.fills else one for one in proposal.lines]
    lines.append(ProposedLine("glycerin", "E", F(1), F(0)))
    sheet = sheet_of(replace(proposal, lines=tuple(lines)), request)
    assert [line.new for line in sheet.lines if line.ingredient == "glycerin"] == [5, 1]
    assert any(text.startswith("Glycerin, 2.50 g:") for text in _texts(_phase(sheet, "E")))


def test_reasons_given_with_a_change_are_used(mask: Job) -> None:
    proposal, request = mask
    changes = tuple(replace(one, reasons=("It was told so",)) for one in proposal.changes)
    assert {row.because for row in sheet_of(replace(proposal, changes=changes), request).changes} == {
        ("It was told so.",)
    }


def test_the_same_proposal_gives_the_same_sheet(mask: Job) -> None:
    assert sheet_of(*mask) == sheet_of(*mask)


def test_the_picture_is_by_what_lines_do_and_adds_up(mask: Job) -> None:
    proposal, request = mask
    some = replace(request.ingredients["kaolin"], roles=("absorbent", "bulking"))
    sheet = sheet_of(proposal, replace(request, ingredients={**request.ingredients, "kaolin": some}))
    roles = dict(sheet.roles)
    assert roles["absorbent"] == 18
    assert "bulking" not in roles
    assert sum(roles.values()) == 100
    assert [share for _, share in sheet.roles] == sorted(roles.values(), reverse=True)


def test_what_is_foretold_is_to_be_read_with_its_span(mask: Job) -> None:
    told = (
        Expected("density", F("1.2"), F("1.09"), F("1.24"), "g/ml"),
        Expected("thickness", F(37), F("12.3"), F(118), "Pa.s", rate=F(1)),
        Expected("ph", F("4.8"), F("4.5"), F(5), ""),
    )
    wording = Wording(mask[1].ingredients)
    found = {check.what: (check.target, check.unit) for check in foretold_checks(told, wording)}
    assert found == {
        "Density: a cup of known volume, weighed full": ("about 1.2, between 1.09 and 1.24 g/ml", "g/ml"),
        "Thickness, read at 1/s": ("about 37, between 12.3 and 118 Pa.s", "Pa.s"),
    }
    yields = [c.target for c in checks_of(mask[1], (), "250 g", wording, F("0.04")) if c.what == "Yield"]
    assert yields == ["about 96 % of 250 g weighed in"]


def test_a_step_says_how_cool_it_has_to_be_for_what_goes_in(mask: Job) -> None:
    proposal, request = mask
    cool = replace(Way("powder", "sieve in"), add_to_c=F(45))
    ingredients = {
        **request.ingredients,
        "oat-flour": replace(request.ingredients["oat-flour"], way=cool),
        "kaolin": replace(request.ingredients["kaolin"], way=replace(cool, add_to_c=F(60))),
        "citric-acid-20": replace(request.ingredients["citric-acid-20"], way=replace(cool, stage="adjust")),
    }
    sheet = sheet_of(proposal, replace(request, ingredients=ingredients))
    assert _step(sheet, "Sieve the clays").text.endswith("Oat flour goes in at 45 °C or cooler.")
    below = _step(sheet, "Below 40 °C").text
    assert below == "Below 40 °C stir in extract and panthenol. Panthenol 75 % goes in at 35 °C or cooler."
    assert _step(sheet, "Set the pH.").text == "Set the pH."
    assert _step(sheet, "Citric acid 20 %").text.endswith("goes in at 45 °C or cooler.")
