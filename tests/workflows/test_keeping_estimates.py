"""`optimiser trial stability` on a small table."""

from __future__ import annotations

import json
import random
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from optimiser.cli.main import cli
from optimiser.domain.trials import Entry, Planned, Trial
from optimiser.export.trial_yaml import trial_text

F = Fraction
DAY = date(2026, 1, 5)
DAYS = (14, 28, 56, 84)


def kept(name: str, rates: dict[int, float], scatter: float = 0.01, days: tuple[int, ...] = DAYS) -> Trial:
    dice = random.Random(name)
    entries = [Entry(1, DAY, "read", measure="ph", value=F("5.00"))]
    for celsius, rate in rates.items():
        for day in days:
            value = F(str(round(5 - rate * day + dice.gauss(0, scatter), 3)))
            entries.append(
                Entry(
                    len(entries) + 1,
                    DAY + timedelta(days=day),
                    "visit",
                    measure="ph",
                    value=value,
                    stored_c=F(celsius),
                )
            )
    return Trial(name, "gel", DAY, F(100), (Planned("A", "water", F(100)),), entries=tuple(entries))


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    (tmp_path / "worktable.yaml").write_text(
        "name: Small\ncurrency: EUR\njurisdiction: EU\nrules_date: 2026-11-01\n", encoding="utf-8"
    )
    (tmp_path / "ingredients.csv").write_text(
        "id,name,inci,kind,roles\nwater,Water,Aqua,water,solvent\n", encoding="utf-8"
    )
    (tmp_path / "trials").mkdir()
    return tmp_path


def put(desk: Path, *trials: Trial) -> None:
    for trial in trials:
        (desk / "trials" / f"{trial.id}.yaml").write_text(trial_text(trial), encoding="utf-8")


def run(desk: Path, *words: str) -> Result:
    return CliRunner().invoke(cli, ["trial", "stability", *words, "-w", str(desk)])


def told(desk: Path, *words: str) -> dict[str, object]:
    found = run(desk, *words, "--json")
    assert found.exit_code == 0, found.output
    answer: dict[str, object] = json.loads(found.output)
    return answer


def first(answer: dict[str, object]) -> dict[str, object]:
    every = answer["kept"]
    assert isinstance(every, list)
    one: dict[str, object] = every[0]
    return one


def test_days_within_what_was_observed_are_told_plainly(desk: Path) -> None:
    put(desk, kept("gel-1", {40: 0.01}))
    one = first(told(desk, "gel-1", "--limit", "at_least 4.5"))
    assert 40 <= int(str(one["days"])) <= 50
    assert one["beyond_observed"] is False


def test_what_goes_beyond_the_last_visit_says_so_and_ends_at_twice(desk: Path) -> None:
    put(desk, kept("gel-1", {25: 0.001}))
    found = run(desk, "gel-1", "--limit", "at_least 4")
    said = " ".join(found.output.split())
    assert "168 days" in said
    assert "beyond what was observed" in said
    assert "only 84 days were observed" in said
    assert "no more than twice what was observed is said" in said
    assert "no claim" in said


def test_trials_of_a_formula_count_as_one_only_where_they_are_alike(desk: Path) -> None:
    put(desk, kept("gel-1", {40: 0.004}), kept("gel-2", {40: 0.010}))
    one = first(told(desk, "gel", "--limit", "at_least 4.5"))
    assert one["pooled"] is False
    assert int(str(one["days"])) < 52
    assert "not alike" in str(one["why"])
    assert one["trials"] == ["gel-1", "gel-2"]


def test_warm_jars_speak_of_the_room_only_where_three_temperatures_do(desk: Path) -> None:
    put(desk, kept("gel-1", {40: 0.004, 50: 0.009}))
    by = told(desk, "gel-1", "--limit", "at_least 4.5")["by_temperature"]
    assert isinstance(by, dict)
    assert by["days"] is None
    assert "it needs three" in by["refused"]
    put(desk, kept("gel-1", {30: 0.00182, 40: 0.005, 50: 0.0129}, scatter=0.003))
    by = told(desk, "gel-1", "--limit", "at_least 4.5")["by_temperature"]
    assert isinstance(by, dict)
    assert by["refused"] == ""
    assert 70 < by["kj_per_mol"] < 90
    assert 300 < by["days"] < 520
    assert "only jars at that temperature tell" in " ".join(
        run(desk, "gel-1", "--limit", "at_least 4.5").output.split()
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("gel-1",), "a limit is needed"),
        (("gel-1", "--limit", "over 4"), "is no limit"),
        (("gel-9", "--limit", "at_least 4"), "no trial is called"),
        (("gel-1", "--measure", "density", "--limit", "at_least 1"), "no visit of gel-1 tells density"),
    ],
)
def test_what_cannot_be_answered_is_said(desk: Path, words: tuple[str, ...], said: str) -> None:
    put(desk, kept("gel-1", {40: 0.01}))
    found = run(desk, *words)
    assert found.exit_code != 0
    assert said in str(found.exception)


def test_two_readings_make_no_estimate(desk: Path) -> None:
    put(desk, kept("gel-1", {40: 0.01}, days=(14,)))
    one = first(told(desk, "gel-1", "--limit", "at_least 4.5"))
    assert one["days"] is None
    assert "fewer than three readings" in str(one["why"])
