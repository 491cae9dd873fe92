"""A response fitted to nine invented trials of the demo's balm, kept, and used as a rule."""

from __future__ import annotations

import json
from datetime import date
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from optimiser.checks.judge import broken, judge
from optimiser.checks.responses import taught_at
from optimiser.cli.trial_fit import command
from optimiser.domain.outcome import Outcome, Proposals, Undecided
from optimiser.domain.request import Slot
from optimiser.domain.rules import Response
from optimiser.errors import UsageError
from optimiser.loading.worktable import load_worktable
from optimiser.statistics.scheffe import Kind
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose
from optimiser.workflows.trial_fit import FitFound, FitWanted, fit_trials, write_response
from optimiser.workflows.worktable import open_worktable
from tests.trials_of_a_balm import TRIALS, balm_with_trials

F = Fraction
DAY = date(2026, 11, 25)
BRIEF = "name: Softer\ntargets:\n  - response: {softness: {at_least: %s}}\n    surely: %s\n"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = balm_with_trials(tmp_path_factory.mktemp("balm") / "bench")
    write_response(fitted(folder, "quadratic"))
    for name, limit, surely in (("softer", "8", "no"), ("surely", "8", "yes"), ("beyond", "9.5", "no")):
        (folder / "briefs" / f"{name}.yaml").write_text(BRIEF % (limit, surely), "utf-8")
    return folder


def fitted(folder: Path, kind: Kind, varied: tuple[str, ...] = ()) -> FitFound:
    return fit_trials(folder, FitWanted("softness", kind=kind, varied=varied), DAY)


def asked(folder: Path, brief: str) -> Outcome:
    sources = open_worktable(folder)
    return propose(sources, ask(sources, "sunflower-balm", {"briefs": (brief,)}))


@pytest.mark.parametrize("kind", ["linear", "quadratic"])
def test_what_is_kept_says_of_each_trial_what_the_fit_says(bench: Path, kind: Kind) -> None:
    found = fitted(bench, kind)
    assert found.response is not None
    assert found.gathered.varied == ("sunflower-oil", "shea-butter", "beeswax")
    for point, there in zip(found.gathered.points, found.fit.fitted, strict=True):
        told = taught_at(found.response, dict(zip(found.gathered.varied, point, strict=True)))
        assert told is not None
        assert float(told.value) == pytest.approx(there, abs=1e-8)


def test_the_file_reads_back_to_the_same_response(bench: Path) -> None:
    worktable, problems = load_worktable(bench)
    assert not problems
    assert worktable is not None
    own = fitted(bench, "quadratic").response
    assert own is not None
    kept = worktable.responses["softness"]
    assert kept.place.file == "responses/softness.yaml"
    assert {n: getattr(kept, n) for n in kept.__slots__ if n != "place"} == {
        n: getattr(own, n) for n in own.__slots__ if n != "place"
    }


@pytest.mark.parametrize("brief", ["softer", "surely"])
def test_a_proposal_meets_the_rule_by_the_whole_model(bench: Path, brief: str) -> None:
    outcome = asked(bench, brief)
    assert isinstance(outcome, Proposals)
    proposal = outcome.proposals[0]
    shares = {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}
    verdicts = judge(outcome.request, shares)
    assert not broken(verdicts)
    (own,) = (v for v in verdicts if isinstance(v.rule, Response))
    assert own.value is not None
    assert own.margin is not None
    assert 0 <= own.margin < F("0.05")
    assert own.rule.head.source == "fitted from trials balm-1 … balm-9, ± 0.14"
    assert (own.value > 8 + F("0.3")) is (brief == "surely"), "surely keeps a jar's error away"
    told = {change.ingredient: change.because for change in proposal.changes}
    assert any("softness" in because for because in told["beeswax"])


def test_more_than_the_trials_reach_is_no_impossibility(bench: Path) -> None:
    outcome = asked(bench, "beyond")
    assert isinstance(outcome, Undecided)
    assert outcome.why.startswith("outside what can be predicted: within what balm-1 … balm-9 had")
    assert "softness of at least 9.5" in outcome.concessions[0].sentence
    assert outcome.concessions[0].proposal is not None


def test_too_few_trials_are_refused_with_what_is_wanted(tmp_path: Path) -> None:
    folder = balm_with_trials(tmp_path / "few", 5)
    with pytest.raises(UsageError, match="5 trials with softness, 5 of them different, are too few") as fault:
        fitted(folder, "quadratic")
    assert "has 6 terms and wants 7 trials" in fault.value.what
    assert "--model linear" in fault.value.fix


def test_lines_that_always_moved_together_are_named(bench: Path) -> None:
    with pytest.raises(UsageError, match="cannot tell apart: coconut-mct") as fault:
        fitted(bench, "linear", ("coconut-mct", "polyglyceryl-4-caprate", "beeswax"))
    assert "beeswax" not in fault.value.what


@pytest.mark.parametrize(
    ("measure", "trials", "told"),
    [
        ("slip", (), 'no trial has a reading or score called "slip"'),
        ("softness", ("balm-99",), 'no trial is called "balm-99"'),
    ],
)
def test_names_that_do_not_exist(bench: Path, measure: str, trials: tuple[str, ...], told: str) -> None:
    with pytest.raises(UsageError, match=told):
        fit_trials(bench, FitWanted(measure, trials), DAY)


def test_the_command_tells_draws_and_keeps(tmp_path: Path) -> None:
    folder = balm_with_trials(tmp_path / "bench")
    drawing = tmp_path / "softness.svg"
    more = ["-w", str(folder), "--on", "2026-11-25", "--plot", str(drawing), "--write"]
    told = CliRunner().invoke(command, ["softness", *more], catch_exceptions=False).output
    assert "softness: linear in Sunflower oil, high oleic, Shea butter, Beeswax, from 9 trials" in told
    assert "Beeswax                     −34.506          ± 2.206" in told
    assert "Lack of fit: none that shows" in told
    assert (folder / "responses" / "softness.yaml").is_file()
    drawn = list(ElementTree.parse(drawing).iter())  # noqa: S314
    texts = [one.text for one in drawn if one.text]
    assert "Beeswax" in texts
    assert "points of % a line moves from the middle of the trials" in texts
    trials = [one for one in drawn if one.get("class") == "trial"]
    assert len(trials) == len(TRIALS)


def test_the_fit_as_json(bench: Path) -> None:
    run = CliRunner().invoke(command, ["softness", "-w", str(bench), "--model", "quadratic", "--json"])
    told = json.loads(run.output)
    assert [one["of"] for one in told["terms"]][-1] == ["shea-butter", "beeswax"]
    assert told["freedom"] == 3
    assert told["unsettled"] == [["sunflower-oil", "shea-butter"]]
    assert len(told["trials"]) == len(TRIALS)
