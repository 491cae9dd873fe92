"""A trial beside its plan, its formula and another trial."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.domain.comparison import Comparison
from optimiser.domain.trials import Entry, Expected, Planned, Trial
from optimiser.export.trial_yaml import trial_text
from optimiser.requests.sources import Sources
from optimiser.workflows.compare_trials import beside_its_plan, compare_any, is_trial
from tests.workflows.desk import copied, table_in

F = Fraction
DAY = date(2026, 11, 20)
LINES = (
    Planned("A", "glycerin", F(10)),
    Planned("B", "water", F(80)),
    Planned("B", "rose-hydrosol", F(6)),
    Planned("C", "rose-hydrosol", F(4)),
)
FORETOLD = (
    Expected("ph", F("4.75"), F("4.5"), F(5), ""),
    Expected("density", F("1.01"), F(1), F("1.02"), "g/ml"),
)


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Sources:
    folder: Path = copied(tmp_path_factory.mktemp("trials"))
    (folder / "trials").mkdir()
    entries = (
        Entry(1, DAY, "weighed", ingredient="glycerin", grams=F(30)),
        Entry(2, DAY, "read", measure="ph", value=F(52)),
        Entry(3, DAY, "read", measure="ph", value=F("5.2"), corrects=2),
        Entry(4, DAY, "felt", measure="softness", value=F(7)),
    )
    for number, wrote in ((1, entries), (2, ())):
        trial = Trial(f"serum-{number}", "rose-serum", DAY, F(100), LINES, FORETOLD, entries=wrote)
        (folder / "trials" / f"serum-{number}.yaml").write_text(trial_text(trial), encoding="utf-8")
    return table_in(folder)


def measures(found: Comparison) -> dict[str, tuple[Fraction | None, Fraction | None]]:
    return {one.name: (one.first, one.second) for one in found.measures}


def test_planned_stands_beside_weighed_and_foretold_beside_read(table: Sources) -> None:
    found = beside_its_plan(table, "serum-1")
    shares = {one.ingredient: (one.first, one.second) for one in found.lines}
    assert shares["glycerin"] == (F(10), F(25))
    assert shares["rose-hydrosol"] == (F(10), F(1000, 120))
    assert found.second.asked == "as made, 1 of 3 ingredients weighed"
    assert measures(found) == {
        "pH of the finished batch": (F("4.75"), F("5.2")),
        "density": (F("1.01"), None),
        "softness": (None, 7),
    }


def test_two_trials_and_a_formula_beside_a_trial(table: Sources) -> None:
    found = compare_any(table, "serum-1", "serum-2")
    assert (found.first.id, found.second.id) == ("serum-1", "serum-2")
    assert measures(found)["pH of the finished batch"] == (F("5.2"), None)
    formula = compare_any(table, "rose-serum", "serum-1")
    shares = {one.ingredient: (one.first, one.second) for one in formula.lines}
    assert shares["glycerin"] == (F(3), F(25))
    assert shares["xanthan"] == (F("0.3"), F(0))
    assert measures(formula)["pH of the finished batch"] == (F("4.8"), F("5.2"))


def test_a_formula_is_no_trial(table: Sources) -> None:
    assert is_trial(table, "serum-1")
    assert not is_trial(table, "rose-serum")
    assert compare_any(table, "rose-serum", "rose-serum").apart == ()
