"""Why a proposal is so: spans that hold it, prices that a new question bears out, another way beside it."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import optimiser
from optimiser.domain.outcome import Impossible, Proposals
from optimiser.domain.rules import Amount, Head
from optimiser.domain.why import Forced, LineWhy, Why
from optimiser.errors import UsageError
from optimiser.explain.holding import _musts, _without, aimed_at, ground_of
from optimiser.export.why_json import forced_dict, why_dict
from optimiser.requests.sources import Sources
from optimiser.search.propose import search
from optimiser.solver.interface import Limits
from optimiser.workflows.ask import ask
from optimiser.workflows.provenance import provenance_of
from optimiser.workflows.why import why, why_not
from tests.once import once
from tests.workflows.desk import F, demo, proposed, third_of_demo

FORMULA = "sunflower-balm"


@cache
def table() -> Sources:
    """Fewer ingredients than the whole demo has: the questions are the same, the answers come sooner."""
    return third_of_demo(FORMULA)


@pytest.fixture(scope="module")
def told() -> Why:
    found = once(
        "why of a third of the demo", lambda: why(table(), ask(table(), FORMULA, {"aim": ("cheapest",)}))
    )
    assert isinstance(found, Why)
    return found


@pytest.fixture(scope="module")
def unwaxed() -> Forced:
    _, (forced,) = once(
        "why not without beeswax", lambda: why_not(table(), ask(table(), FORMULA, {}), ("beeswax",), ())
    )
    return forced


def test_every_line_stands_inside_its_spans_and_they_inside_each_other(told: Why) -> None:
    assert [one.ingredient for one in told.lines] == list(
        dict.fromkeys(line.ingredient for line in told.outcome.proposals[0].lines)
    )
    near = F("0.01")
    for one in told.lines:
        assert one.may is not None
        assert one.as_good is not None
        assert one.may[0] - near <= one.as_good[0] <= one.share + near
        assert one.share - near <= one.as_good[1] <= one.may[1] + near


def test_beyond_its_span_there_is_no_formula_and_at_its_end_there_is(told: Why) -> None:
    request = told.outcome.request
    one = next(line for line in told.lines if line.may and line.may[1] - line.may[0] > 1 and not line.needed)
    assert one.may is not None

    def found(low: Fraction | None, high: Fraction | None) -> bool:
        rule = Amount(Head("test#held", "It stands there.", "test"), one.ingredient, low, high)
        return bool(search(replace(request, rules=(*request.rules, rule)), limits=Limits()).proposals)

    step = F("0.02")
    assert found(one.may[1] - step, None)
    assert not found(one.may[1] + step, None)
    assert found(None, one.may[0] + step)
    assert one.may[0] == 0 or not found(None, one.may[0] - step)


def test_without_a_line_the_best_formula_is_as_far_behind_as_asking_anew_says(told: Why) -> None:
    bare = [one for one in told.lines if one.behind is not None and one.behind > 0]
    assert bare
    one = bare[0]
    free, (forced,) = why_not(table(), ask(table(), FORMULA, {"aim": ("cheapest",)}), (one.ingredient,), ())
    assert isinstance(free, Proposals)
    if isinstance(forced.outcome, Proposals):
        apart = forced.outcome.proposals[0].stages[0].value - free.proposals[0].stages[0].value
        assert one.behind is not None
        assert apart >= one.behind - F("0.01")
        assert forced.beside is not None
        gone = next(pair for pair in forced.beside.lines if pair.ingredient == one.ingredient)
        assert gone.second == 0


def test_among_equals_without_a_line_the_next_aim_chooses_as_in_a_proposal() -> None:
    """Squalane would be as near to the base as sunflower oil, and 8 EUR/kg dearer."""
    asked = {"leave_out": ("coconut-mct",)}
    first, request = proposed(demo(), FORMULA, **asked)
    anew, _ = proposed(demo(), FORMULA, leave_out=("coconut-mct", "sweet-orange-oil"))
    ground = ground_of(request, first, Limits())
    line = LineWhy("sweet-orange-oil", "", F(0), None, None, ())
    found = _without(ground, line, aimed_at(ground, _musts(ground)))
    assert found.dearer is not None
    assert first.cost_per_kg is not None
    assert anew.cost_per_kg is not None
    assert abs(found.dearer - (anew.cost_per_kg - first.cost_per_kg)) <= F("0.01")
    assert "Squalane, olive" not in found.then


def test_a_limit_costs_what_asking_with_it_moved_costs(told: Why) -> None:
    request, first = told.outcome.request, told.outcome.proposals[0]
    priced = [one for one in told.limits if one.whole and one.aim is not None and one.tighter and one.aim > 0]
    assert priced
    one = priced[0]
    rule = next(r for r in request.rules if r.head.sentence == one.rule)
    by = one.step if one.side == "low" else -one.step
    moved = replace(rule, **{one.side: one.limit + by})  # type: ignore[arg-type]
    rules = tuple(moved if r is rule else r for r in request.rules)
    answer = search(replace(request, rules=rules), limits=Limits()).proposals
    apart = answer[0].stages[0].value - first.stages[0].value
    assert one.aim is not None
    assert abs(apart - one.aim) <= F("0.003")


def test_any_ingredients_never_cost_more_than_the_same_ones(told: Why) -> None:
    by_key: dict[tuple[str, str, bool], dict[bool, Fraction | None]] = {}
    for one in told.limits:
        by_key.setdefault((one.rule, one.side, one.tighter), {})[one.whole] = one.aim
    for both in by_key.values():
        if both.get(True) is not None and both.get(False) is not None:
            assert both[True] <= both[False] + F("0.001")  # type: ignore[operator]


def test_what_cannot_be_said_so_and_names_are_checked() -> None:
    asked = ask(table(), FORMULA, {})
    _, (forced,) = why_not(table(), asked, (), (("beeswax", "dimethicone"),))
    assert isinstance(forced.outcome, Impossible) or forced.beside is not None
    with pytest.raises(UsageError, match="beeswax"):
        why_not(table(), asked, ("beeswaxx",), ())


def test_plain_data_holds_all_of_it(told: Why, unwaxed: Forced) -> None:
    data = why_dict(told, provenance=provenance_of(table(), told.outcome.request))
    assert len(data["lines"]) == len(told.lines)
    assert {one["ingredients"] for one in data["limits"]} <= {"any", "as they are"}
    assert data["answer"]["outcome"] == "proposals"
    plain = forced_dict(unwaxed, provenance=provenance_of(table(), unwaxed.outcome.request))
    assert plain["asked"] == "without Beeswax"


def _schema(name: str) -> Any:
    path = Path(optimiser.__file__).parent / "schema" / f"{name}.schema.json"
    return json.loads(path.read_text(encoding="utf-8"))


def test_the_json_is_as_its_schema_says_and_no_more(told: Why, unwaxed: Forced) -> None:
    schema, answer = (jsonschema.Draft202012Validator(_schema(name)) for name in ("why", "answer"))
    jsonschema.Draft202012Validator.check_schema(_schema("why"))
    data = why_dict(told, provenance=provenance_of(table(), told.outcome.request))
    schema.validate(data)
    answer.validate(data["answer"])
    assert not schema.is_valid(data | {"more": 1})
    assert not schema.is_valid(data | {"limits": [one | {"move": "sideways"} for one in data["limits"]]})
    plain = forced_dict(unwaxed, provenance=provenance_of(table(), unwaxed.outcome.request))
    schema.validate({"format": 1, "forced": [plain]})
    answer.validate(plain["answer"])


def test_each_further_step_costs_the_same_up_to_the_end_told(told: Why) -> None:
    request, first = told.outcome.request, told.outcome.proposals[0]
    ended = [
        (one, abs(one.until - one.limit))
        for one in told.limits
        if one.whole and one.aim and one.until is not None and abs(one.until - one.limit) > 2 * one.step
    ]
    assert ended
    for one, reach in ended[:2]:
        rule = next(r for r in request.rules if r.head.sentence == one.rule)
        assert one.until is not None
        moved = replace(rule, **{one.side: one.until})  # type: ignore[arg-type]
        rules = tuple(moved if r is rule else r for r in request.rules)
        answer = search(replace(request, rules=rules), limits=Limits()).proposals
        apart = answer[0].stages[0].value - first.stages[0].value
        assert one.aim is not None
        assert abs(apart - one.aim * reach / one.step) <= F("0.003")
