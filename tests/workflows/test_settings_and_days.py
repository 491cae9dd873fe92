"""Settings of the work and days in a fit: told, kept, drawn, and asked for at a stated setting."""

from __future__ import annotations

import json
from datetime import date
from fractions import Fraction
from functools import cache
from importlib import resources
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from optimiser.checks.judge import broken, judge
from optimiser.checks.responses import taught_at
from optimiser.cli.trial_fit import command
from optimiser.domain.outcome import Proposals
from optimiser.domain.request import Slot
from optimiser.domain.rules import Response
from optimiser.errors import UsageError
from optimiser.export.answer_rules import rule_dict
from optimiser.export.response_json import fit_dict
from optimiser.loading.worktable import load_worktable
from optimiser.statistics.scheffe import Kind, predict
from optimiser.trials.fitting import How, off_days, scatter_of
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose
from optimiser.workflows.trial_fit import FitFound, FitWanted, fit_trials, write_response
from optimiser.workflows.worktable import open_worktable
from tests.stirred_balms import stirred_balms

F = Fraction
DAY = date(2026, 11, 25)
STIRRED = How(("stirring",))
BRIEF = "name: Softer\ntargets:\n  - response: {softness: {at_least: %s%s}}\n    surely: no\n"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = stirred_balms(tmp_path_factory.mktemp("stirred") / "bench")
    write_response(fitted(folder))
    return folder


@pytest.fixture(scope="module")
def two_days(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return stirred_balms(tmp_path_factory.mktemp("days") / "bench", day_off=0.5, planned=True)


@cache
def fitted(folder: Path, kind: Kind = "linear", how: How = STIRRED, *, alike: bool = False) -> FitFound:
    wanted = FitWanted("softness", kind=kind, how=how, crossed="alike" if alike else "linear")
    return fit_trials(folder, wanted, DAY)


@pytest.mark.parametrize(("kind", "alike"), [("linear", False), ("quadratic", False), ("quadratic", True)])
def test_a_stated_setting_says_of_each_trial_what_the_fit_says(
    bench: Path, kind: Kind, *, alike: bool
) -> None:
    found = fitted(bench, kind, alike=alike)
    assert found.response is not None
    rows = zip(found.gathered.points, found.gathered.made, found.gathered.rows, found.fit.fitted, strict=True)
    for point, (speed,), row, there in rows:
        stated = found.response.made_so({"stirring": speed})
        told = taught_at(stated, dict(zip(found.gathered.varied, point, strict=True)))
        assert told is not None
        assert float(told.value) == pytest.approx(there, abs=1e-7)
        error = predict(found.fit, row).error
        assert error is not None
        assert float(told.variance - stated.deviation**2) == pytest.approx(error**2, rel=1e-6)
        assert stated.straight is (kind == "linear")


def test_what_was_put_in_is_found(bench: Path) -> None:
    """The invented balms: stirring does 0.4, 2 and -5 to the three lines."""
    terms = dict(zip(fitted(bench).fit.terms, fitted(bench).fit.coefficients, strict=True))
    assert terms["beeswax", "stirring"] == pytest.approx(-5, abs=0.5)
    assert terms["shea-butter", "stirring"] == pytest.approx(2, abs=0.5)


def test_the_file_reads_back_to_the_same_response(bench: Path) -> None:
    worktable, problems = load_worktable(bench)
    assert not problems
    assert worktable is not None
    own, kept = fitted(bench).response, worktable.responses["softness"]
    assert own is not None
    assert [getattr(kept, n) for n in kept.__slots__ if n != "place"] == [
        getattr(own, n) for n in own.__slots__ if n != "place"
    ]


def test_a_proposal_depends_on_the_speed_it_is_asked_for_at(bench: Path) -> None:
    wax = {}
    for speed in ("400", "1200"):
        brief = BRIEF % ("7.5", f", made: {{stirring: {speed} rpm}}")
        (bench / "briefs" / f"at-{speed}.yaml").write_text(brief, "utf-8")
        sources = open_worktable(bench)
        outcome = propose(sources, ask(sources, "sunflower-balm", {"briefs": (f"at-{speed}",)}))
        assert isinstance(outcome, Proposals)
        shares = {Slot(o.ingredient, o.phase): o.percent for o in outcome.proposals[0].lines}
        verdicts = judge(outcome.request, shares)
        assert not broken(verdicts)
        (own,) = (v.rule for v in verdicts if isinstance(v.rule, Response))
        assert own.head.id.endswith(f"#response softness, stirring {speed}"), "two settings are two rules"
        assert own.head.sentence == f"Softness, made with stirring at {speed} rpm: at least 7.5."
        assert rule_dict(own, "EUR")["terms"]["made"]["stirring"]["value"] == speed
        wax[speed] = sum(share for slot, share in shares.items() if slot.ingredient == "beeswax")
    assert wax["400"] < wax["1200"], "stirred fast, a balm with little wax is softer"


@pytest.mark.parametrize(
    ("made", "told"),
    [
        ("", "made: {stirring: …}, for it was fitted to trials with stirring 400 to 1200 rpm"),
        (", made: {stirring: 2000 rpm}", "stirring 400 to 1200 rpm, where the trials were"),
        (", made: {stirring: 60 C}", "speed of stirring in rpm"),
        (", made: {stiring: 800 rpm}", "a setting of softness"),
        (", made: 800 rpm", "settings such as {stirring: 800 rpm}"),
    ],
)
def test_a_rule_that_does_not_say_how_is_a_fault(bench: Path, tmp_path: Path, made: str, told: str) -> None:
    path = bench / "briefs" / "how.yaml"
    path.write_text(BRIEF % ("8", made), "utf-8")
    try:
        _, problems = load_worktable(bench)
    finally:
        path.unlink()
    assert any(told in one.expected for one in problems), problems
    assert all(one.file == "briefs/how.yaml" for one in problems)


def test_days_are_told_apart_from_what_lines_and_settings_do(bench: Path, two_days: Path) -> None:
    same, off = fitted(bench, how=How(("stirring",), "day")), fitted(two_days)
    assert off.gathered.blocks[:2] == ("2026-11-02 day 1", "2026-11-02 day 2")
    assert off_days(off.fit) == pytest.approx(
        [a + b for a, b in zip(off_days(same.fit), (-0.25, 0.25), strict=True)]
    )
    size = len(off.fit.model.terms)
    shift = [b - a for a, b in zip(same.fit.coefficients[:size], off.fit.coefficients[:size], strict=True)]
    assert shift == pytest.approx([0.25, 0.25, 0.25, 0, 0, 0], abs=1e-9), "their mean alone moves"
    assert off.fit.residual == pytest.approx(same.fit.residual)


def test_a_jar_of_another_day_may_be_off_by_a_day(two_days: Path) -> None:
    with_days, without = fitted(two_days), fitted(two_days, how=How(("stirring",), "none"))
    assert with_days.response is not None
    assert with_days.fit.residual is not None
    assert without.fit.residual is not None
    assert with_days.fit.residual < without.fit.residual / 5
    scatter, freedom = scatter_of(with_days.fit)
    assert scatter > abs(off_days(with_days.fit)[0])
    assert freedom == 1, "two days tell little of days"
    assert float(with_days.response.deviation) == pytest.approx(scatter)
    assert with_days.response.freedom == 1


@pytest.mark.parametrize(
    ("how", "told"),
    [
        (How(("stired",)), 'no trial says how it was made by "stired"'),
        (How(("beeswax",)), 'no trial says how it was made by "beeswax"'),
    ],
)
def test_settings_that_nobody_wrote_down(bench: Path, how: How, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        fitted(bench, how=how)


def test_a_trial_that_does_not_say_how_it_was_made_is_named(tmp_path: Path) -> None:
    folder = stirred_balms(tmp_path / "bench")
    path = folder / "trials" / "stir-3.yaml"
    path.write_text("".join(line for line in path.read_text("utf-8").splitlines(True) if "made," not in line))
    text = path.read_text("utf-8").replace("n: 9,", "n: 8,")
    path.write_text(text, "utf-8")
    with pytest.raises(UsageError, match="stirring was not written down of stir-3"):
        fitted(folder)
    assert fitted(folder, how=How()).gathered.uncounted == ("stirring",)


def test_the_command_tells_and_draws_them(two_days: Path, tmp_path: Path) -> None:
    words = ["softness", "--made", "stirring", "-w", str(two_days), "--plot", str(tmp_path / "drawn.svg")]
    told = " ".join(CliRunner().invoke(command, words, catch_exceptions=False).output.split())
    assert "Beeswax × speed of stirring −4.993 ± 0.126" in told
    assert "speed of stirring counts as −1 at 400, 0 at 800 and +1 at 1200 rpm." in told
    assert "2026-11-02 day 1 by −0.258" in told
    assert "A jar of another day scatters by 0.446, as far as these days tell (1 degree of freedom)." in told
    assert "Made with speed of stirring of 400 to 1200 rpm." in told
    drawn = (tmp_path / "drawn.svg").read_text("utf-8")
    for text in ("speed of stirring, rpm", "most Beeswax", "speed of stirring 800 rpm"):
        assert text in drawn
    alone = CliRunner().invoke(command, ["softness", "-w", str(two_days)], catch_exceptions=False).output
    assert "Not counted, though not the same in all trials: stirring." in alone


FEWEST = ("stir-1", "stir-10", "stir-11", "stir-12")
"""As many trials on two days as three lines and a day have terms: nothing tells the scatter."""


@pytest.mark.parametrize("how", [STIRRED, How((), "none"), How((), "plan")])
def test_its_json_is_as_the_schema_says_and_no_more(two_days: Path, how: How) -> None:
    named = FEWEST if how.block == "plan" else ()
    found = fit_trials(two_days, FitWanted("softness", named, how=how), DAY)
    assert (found.response is None) is bool(named)
    text = (resources.files("optimiser") / "schema" / "trial_fit.schema.json").read_text("utf-8")
    check = jsonschema.Draft202012Validator(json.loads(text))
    told = fit_dict(found.gathered, found.fit, found.response)
    check.validate(told)
    assert not check.is_valid(told | {"more": 1})
