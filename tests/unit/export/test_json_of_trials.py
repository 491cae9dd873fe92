"""What `trial learn` and `trial stability` write as JSON is as their schemas say, and no field more."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from copy import deepcopy
from importlib import resources
from typing import Any

import jsonschema
import pytest

from optimiser.export.learned_json import lesson_dict
from optimiser.export.stability_json import stability_dict
from optimiser.trials.learning import learn
from optimiser.trials.stability import Limits, stability
from tests.unit.trials.bench import GELS, SLURRIES, jar
from tests.workflows.desk import demo
from tests.workflows.test_keeping_estimates import kept


def lesson() -> Any:
    both = {"water": "69", "kaolin": "20", "rose-clay": "10", "citric-acid-20": "1"}
    trials = [jar(f"s-{n}", SLURRIES[n], lot="K-12", ph=ph) for n, ph in enumerate(("5.5", "3.4", "3.1"))]
    trials += [
        jar("both", both, ph="3.8"),
        jar("gel", GELS[0], thickness="2"),
        jar("odd", SLURRIES[2], ph="9"),
    ]
    return lesson_dict(learn(trials, demo().worktable, demo().constants))


def carried() -> Any:
    trials = [kept("gel-1", {25: 0.002, 40: 0.0094, 50: 0.0243})]
    return stability_dict(stability(trials, "ph", Limits(4.5, 5.5)))


def not_carried() -> Any:
    return stability_dict(stability([kept("gel-1", {25: 0.002}, days=(14,))], "ph", Limits(4.5, None)))


def objects(data: Any) -> Iterator[dict[str, Any]]:
    """Every object in it, itself among them."""
    if isinstance(data, dict):
        yield data
    for one in data.values() if isinstance(data, dict) else data if isinstance(data, list) else ():
        yield from objects(one)


@pytest.mark.parametrize(
    ("name", "made"),
    [("trial_learn", lesson), ("trial_stability", carried), ("trial_stability", not_carried)],
)
def test_it_is_as_its_schema_says_and_no_field_more_or_less(name: str, made: Callable[[], Any]) -> None:
    text = resources.files("optimiser").joinpath(f"schema/{name}.schema.json").read_text(encoding="utf-8")
    schema = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    told = json.loads(json.dumps(made()))
    check.validate(told)
    for place in range(len(list(objects(told)))):
        more, less = deepcopy(told), deepcopy(told)
        list(objects(more))[place]["more"] = 1
        list(objects(less))[place].popitem()
        assert not check.is_valid(more), place
        assert not check.is_valid(less), place


def test_every_state_of_a_number_and_both_kinds_of_estimate_are_in_what_is_checked() -> None:
    told = lesson()
    assert {one["state"] for one in told["numbers"]} >= {"learned", "left"}
    assert told["do_not_fit"]
    assert carried()["by_temperature"]["days"] is not None
    assert not_carried()["kept"][0]["start"] is None
