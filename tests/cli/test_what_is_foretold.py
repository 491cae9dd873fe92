"""What stands beside the rules: allergens, natural origin, density, and a batch given as a volume."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from tests.cli.line import here
from tests.workflows.desk import DEMO

Capture = pytest.CaptureFixture[str]
AT = ("-w", str(DEMO))
LOTION = "almond-body-lotion"


def test_check_names_the_allergens_of_the_label(capsys: Capture) -> None:
    """0.3 % of an oil with at most 97 % limonene and 0.7 % linalool; the oil is listed itself."""
    ran = here(capsys, "check", str(DEMO), LOTION)
    text = " ".join(ran.out.split())
    assert ran.code == 0
    assert "Allergens to name on the label" in text
    assert "Citrus Aurantium Peel Oil 0.3 %, Limonene 0.291 %, Linalool 0.0021 %" in text
    assert "Natural origin" in text
    assert "Cetearyl alcohol: stiffens the emulsion" in text


def test_check_writes_the_same_as_json(capsys: Capture) -> None:
    found = json.loads(here(capsys, "check", str(DEMO), LOTION, "--json").out)
    allergens = {one["substance"]: one for one in found["allergens"]}
    assert allergens["Limonene"] == {
        "substance": "Limonene",
        "percent": {"value": "0.291", "unit": "%"},
        "threshold": {"value": "0.001", "unit": "%"},
        "on_label": True,
    }
    assert allergens["Citral"]["on_label"] is False
    assert found["allergens_not_counted"] == []
    measures = found["measures"]
    grams, density = Fraction(250), Fraction(measures["density, predicted"]["value"]["value"])
    volume = Fraction(measures["volume of the batch, predicted"]["value"]["value"])
    assert abs(volume - grams / density) <= Fraction(1, 2)
    ratio = Fraction(measures["emulsifier to oil"]["value"]["value"])
    assert abs(ratio - 4 / Fraction(measures["oil phase"]["value"]["value"])) < Fraction(1, 1000)


def test_a_batch_in_volume_says_by_which_density(capsys: Capture) -> None:
    ran = here(capsys, "propose", LOTION, *AT, "--batch", "8 fl oz")
    assert ran.code == 0
    assert "8 fl oz at a predicted" in ran.err
    assert "g/ml" in ran.err
