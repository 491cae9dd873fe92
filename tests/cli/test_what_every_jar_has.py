"""What the models foretell of a formula, asked or not: in check, on the sheet and as JSON."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from optimiser.export.sheet_checks import of_the_jar
from optimiser.search.by_models import errs_of
from optimiser.workflows.propose import as_it_stands
from tests.cli.line import here
from tests.workflows.desk import DEMO, demo

Capture = pytest.CaptureFixture[str]
MASK = "oat-rose-mask"
NAMES = (
    "thickness at 1/s, predicted",
    "free liquid, predicted",
    "water activity, predicted",
    "degrees below 0 °C without ice, predicted",
    "powder volume, predicted",
    "buffer, predicted",
    "undissolved, predicted",
    "natural origin",
    "density, predicted",
)


def checked(capsys: Capture, formula: str) -> dict[str, object]:
    found: dict[str, object] = json.loads(here(capsys, "check", str(DEMO), formula, "--json").out)
    return found


def test_a_mask_is_told_its_body_liquid_water_and_frost_unasked(capsys: Capture) -> None:
    found = checked(capsys, MASK)
    measures = found["measures"]
    assert isinstance(measures, dict)
    assert set(NAMES) <= set(measures)
    liquid = {end: Fraction(measures[NAMES[1]][end]["value"]) for end in ("low", "value", "high")}
    assert liquid["low"] < liquid["value"] < liquid["high"]
    (off,) = [one["text"] for one in found["on_paper"] if one["about"] == "predicted"]  # type: ignore[attr-defined]
    for what in (
        "the pH by about 0.1",
        "factor of about 3",
        "free liquid by about 15 %",
        "activity by about 0.005",
    ):
        assert what in off


def test_the_sheet_says_the_same_in_a_table() -> None:
    told, _ = as_it_stands(demo(), demo().worktable.formulas[MASK])
    rows = {row.what: row for row in of_the_jar(told)}
    assert rows["Thickness at 1/s"].between.endswith(" and more")
    assert rows["Thickness at 1/s"].errs == "a factor of about 3"
    assert rows["Free liquid"].errs == "about 15 %"
    assert rows["Water activity"].errs == "about 0.005"
    assert rows["Degrees below 0 °C without ice"].errs == "half a degree at 20 % of a polyol"
    assert rows["Powder volume"].errs.startswith("where clay swells")
    assert rows["Natural origin"].errs == ""
    assert errs_of("Sodium benzoate free against yeast, predicted") == "−50 to +30 %"
    assert [what for what in rows if what.startswith(("pH", "Share of"))] == []
    free = rows["Free liquid"]
    assert free.told == f"{free.value} ({free.between}), errs by about 15 %"


@pytest.mark.parametrize(
    ("formula", "why"),
    [
        ("cooling-leg-gel", "Thickness: not predicted, Carbomer: it keeps its body only between pH 5 and 8"),
        (
            "cooling-leg-gel",
            "degrees below 0 °C without ice: not predicted, Denatured ethanol",
        ),
        ("almond-body-lotion", "Thickness: not predicted, Beeswax: the body that its kind gives (wax)"),
    ],
)
def test_what_cannot_be_foretold_says_why(capsys: Capture, formula: str, why: str) -> None:
    assert why in " ".join(here(capsys, "check", str(DEMO), formula).out.split())


def test_a_balm_has_no_water_to_foretell_and_says_nothing_of_it(capsys: Capture) -> None:
    found = checked(capsys, "sunflower-balm")
    measures, told = found["measures"], json.dumps(found["on_paper"])
    assert isinstance(measures, dict)
    assert not {"water activity, predicted", "thickness at 1/s, predicted"} & set(measures)
    assert "not predicted" not in told
