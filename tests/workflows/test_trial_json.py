"""What the commands on trials write as JSON is as its schema says, and no more."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from fractions import Fraction
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from optimiser.domain.trials import Entry, Expected, Planned, Trial
from optimiser.export.next_json import next_dict
from optimiser.export.trial_json import import_dict, trial_dict
from optimiser.trials.next_trials import Wanted
from optimiser.workflows.trial_next import Start, plan, start_from
from optimiser.workflows.trials import import_readings
from tests.workflows.desk import DEMO, demo

F = Fraction
DAY = date(2026, 11, 20)
TRIAL = Trial(
    "serum-1",
    "serum",
    DAY,
    F(250),
    (Planned("A", "water", F("247.5"), lot="W-1"), Planned("B", "acid", F("2.5"), dosed=True)),
    (
        Expected("thickness", F(3), F(1), F(9), "Pa.s", rate=F(1)),
        Expected("ph", F(5), F(4), F(6), "", F("0.1")),
    ),
    entries=(
        Entry(1, DAY, "weighed", ingredient="water", lot="W-1", grams=F("247.4"), who="Mila"),
        Entry(
            2,
            DAY,
            "read",
            measure="ph",
            value=F("5.2"),
            spread=F("0.05"),
            at_c=F("22.22"),
            instrument="meter",
        ),
        Entry(
            3, DAY, "read", measure="thickness", value=F(1, 3), unit="Pa.s", rate=F(10), instrument="meter"
        ),
        Entry(4, DAY, "visit", text="clear", stored_c=F(-18), light="dark", cycles=3),
        Entry(5, DAY, "challenge", outcome="of a laboratory"),
        Entry(6, DAY, "photo", path="a.jpg"),
        Entry(7, DAY, "corrected", corrects=2),
        Entry(8, DAY, "accepted"),
    ),
)


def validator(name: str) -> jsonschema.Draft202012Validator:
    text = resources.files("optimiser").joinpath(f"schema/{name}.schema.json").read_text(encoding="utf-8")
    schema = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def written(data: Any) -> Any:
    return json.loads(json.dumps(data))


def test_a_trial_with_entries_of_every_kind() -> None:
    schema, data = validator("trial"), written(trial_dict(TRIAL))
    schema.validate(data)
    assert data["dosed_not_weighed"] == ["acid"]
    assert [one["counts"] for one in data["entries"][:3]] == [True, False, True]
    assert not schema.is_valid(data | {"more": 1})
    assert not schema.is_valid(data | {"entries": [data["entries"][0] | {"what": "guessed"}]})
    assert not schema.is_valid(data | {"opened": "today"})


def test_a_dosed_line_that_was_weighed_is_not_told_as_missing() -> None:
    weighed = Entry(9, DAY, "weighed", ingredient="acid", grams=F("1.1"))
    assert TRIAL.unweighed_dosed == {"acid": F("2.5")}
    assert replace(TRIAL, entries=(*TRIAL.entries, weighed)).unweighed_dosed == {}


def test_readings_of_a_table_and_what_is_wrong_with_them(tmp_path: Path) -> None:
    table = tmp_path / "readings.csv"
    table.write_text("trial,day,measure,value\nserum-1,2026-11-20,ph,5\n", encoding="utf-8")
    found = import_readings(demo(), table, write=False)
    schema = validator("trial_import")
    told = written(import_dict(found.entries, found.problems, found.known, written=found.written))
    schema.validate(told)
    assert [one["cell"] for one in told["problems"]] == ["trial"]
    assert told["entries"] == []
    kept = written(
        import_dict([("serum-1", replace(one, number=0)) for one in TRIAL.entries[:4]], (), 2, written=True)
    )
    schema.validate(kept)
    assert [one["what"] for one in kept["entries"]] == ["weighed", "read", "read", "visit"]
    assert not schema.is_valid(kept | {"known": -1})


@pytest.fixture(scope="module")
def planned() -> dict[str, Any]:
    start = start_from("sunflower-balm", DEMO, {})
    assert isinstance(start, Start)
    made: dict[str, Any] = written(next_dict(plan(start, ["shea-butter,beeswax"], Wanted("linear", 4, 1, 1))))
    return made


def test_the_next_trials(planned: dict[str, Any]) -> None:
    schema = validator("trial_next")
    schema.validate(planned)
    assert planned["before"] is None
    assert [one["number"] for one in planned["batches"]] == [1, 2, 3, 4]
    assert sum(F(one) for one in planned["batches"][0]["percent"].values()) == F("68.2")
    assert not schema.is_valid(planned | {"criterion": "A"})
    assert not schema.is_valid(planned | {"room": planned["room"][:1]})
