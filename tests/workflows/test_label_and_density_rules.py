"""Rules on what the label has to name and on density: held by the proposal, judged by other sums."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from optimiser.checks.amounts import Amounts
from optimiser.checks.forecasts import foretell
from optimiser.checks.judge import judge
from optimiser.domain.outcome import Proposal
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Forecast, Head
from optimiser.lp.build import build
from optimiser.science.charge import Unknown
from optimiser.workflows.propose import as_it_stands
from optimiser.workflows.worktable import problems_of
from tests.workflows.desk import F, copied, demo, is_sound, proposed, put, table_in

LOTION = "apricot-face-lotion"
HEAD = Head("test#rule", "It holds.", "test")


def brief(tmp_path: Path, *targets: str) -> Path:
    desk = copied(tmp_path)
    put(desk, "briefs/ours.yaml", "name: Ours\ntargets:\n" + "".join(f"  - {one}\n" for one in targets))
    return desk


def on_label(proposal: Proposal) -> list[str]:
    return [one.substance for one in proposal.allergens if one.on_label]


@cache
def made() -> Request:
    return as_it_stands(demo(), demo().worktable.formulas[LOTION])[1]


def lotion() -> tuple[Request, dict[Slot, Fraction]]:
    return made(), dict(made().base)


def test_the_label_names_no_more_than_asked(tmp_path: Path) -> None:
    """Five as it stands, all from 0.1 % of lavender oil: half of it leaves one at 0.001 %."""
    desk = brief(tmp_path, "allergens: {at_most: 4}")
    proposal, request = proposed(table_in(desk), LOTION, "ours")
    is_sound(proposal, request)
    verdict = next(v for v in proposal.verdicts if isinstance(v.rule, Forecast))
    assert verdict.met
    assert verdict.value == len(on_label(proposal)) == 4
    left = sum((line.percent for line in proposal.lines if line.ingredient == "lavender-oil"), F(0))
    assert 0 < left < F("0.1")


@pytest.mark.parametrize("lavender", ["0.001", "0.002", "0.004", "0.05", "0.1"])
def test_rows_count_the_names_that_the_judge_counts(lavender: str) -> None:
    """At every dose the names that the rows ask a yes for are those that the judge counts by its own sums."""
    request, shares = lotion()
    scent = next(slot for slot in shares if slot.ingredient == "lavender-oil")
    shares[request.filler] += shares[scent] - F(lavender)
    shares[scent] = F(lavender)
    rule = Forecast(HEAD, "allergens", None, F(3), True)
    request = replace(request, rules=(rule,))
    verdict = next(v for v in judge(request, shares) if v.rule is rule)
    values = {f"x:{slot}": share for slot, share in shares.items()}
    needed = 0
    for row in build(request).rows:
        if row.rule == HEAD.id and any(name in values for name, _ in row.coef):
            held = sum((coef * values.get(name, F(0)) for name, coef in row.coef), F(0))
            needed += row.upper is not None and held > row.upper
    assert verdict.value == needed


def test_a_place_without_a_list_of_allergens_is_not_guessed_at() -> None:
    request, shares = lotion()
    rule = Forecast(HEAD, "allergens", None, F(0), False)
    verdict = next(v for v in judge(replace(request, rules=(rule,), labels=()), shares) if v.rule is rule)
    assert verdict.met
    assert verdict.value is None
    assert "no list of allergens" in verdict.note


def test_a_density_needs_a_number_of_every_line() -> None:
    water = made().ingredients["water"]
    bare = replace(water, figures={name: one for name, one in water.figures.items() if name != "density"})
    told = foretell("density", Amounts(((Slot("water", "A"), F(100)),), {"water": bare}), None, {})
    assert isinstance(told, Unknown)
    assert "density" in told.reason


@pytest.mark.parametrize("target", ["allergens: {at_most: 1.5}", "density: {at_least: 1.1}"])
def test_what_is_not_written_so_is_a_problem(tmp_path: Path, target: str) -> None:
    problems, _ = problems_of(brief(tmp_path, target))
    assert problems
