"""What the models foretell of a formula, asked or not: in check, on the sheet and as JSON."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from optimiser.export.sheet_checks import foretold
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


def test_the_sheet_says_the_same_in_one_sentence() -> None:
    told, request = as_it_stands(demo(), demo().worktable.formulas[MASK])
    (line,) = [text for text in foretold(told, request) if text.startswith("Foretold of it: ")]
    values = {one.name: one for one in told.measures}
    assert values["thickness at 1/s, predicted"].high is None
    for part in (
        "thickness at 1/s",
        "and more)",
        "free liquid",
        "water activity",
        "without ice",
        "powder volume",
    ):
        assert part in line
    assert "pH before" not in line
    assert "share of" not in line


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
