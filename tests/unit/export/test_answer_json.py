"""The JSON of an answer follows its schema and holds every number exactly."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from importlib import resources
from typing import Any, get_args

import jsonschema
import pytest

from optimiser.domain.outcome import (
    Concession,
    Conflict,
    Impossible,
    Outcome,
    Proposal,
    Proposals,
    Undecided,
    Verdict,
    Witness,
)
from optimiser.domain.request import Remark, Request, SetAside
from optimiser.domain.rules import (
    Amount,
    Clash,
    Cost,
    Forecast,
    FreeLiquid,
    Head,
    Legal,
    LineCount,
    Mean,
    Needs,
    Newcomers,
    Ratio,
    Reaches,
    Response,
    Rule,
    Stock,
    Thickness,
    UseRange,
)
from optimiser.domain.selector import AnyOf, Pick
from optimiser.export.answer_json import answer_dict, answer_json, digest_of
from optimiser.export.answer_rules import kind_of, rule_dict, verdict_dict
from tests.taught import fitted
from tests.unit.export.jobs import MASK_RULES, PROVENANCE, mask_proposal, mask_request

F = Fraction

CLAY, OIL = Pick("group", "clay"), AnyOf((Pick("kind", "oil"), Pick("kind", "butter")))
OTHER_RULES: tuple[Rule, ...] = (
    Mean(Head("m", "Solids."), "solids", F(30), None),
    Ratio(Head("r", "Gum to polyol."), CLAY, OIL, None, F(1, 3), "A"),
    Amount(Head("a", "Kaolin."), "kaolin", F(1), F(2)),
    UseRange(Head("u", "Use."), "kaolin", None, F(2)),
    Legal(
        Head("l", "Limit.", basis="law"), (("Benzoic Acid", F(1)), ("Sodium Benzoate", F(122, 144))), F(1, 2)
    ),
    Cost(Head("c", "Cost."), F(19, 2)),
    Newcomers(Head("n", "Few."), 2),
    LineCount(Head("k", "Lines."), 12),
    Clash(Head("x", "Never."), CLAY, OIL),
    Needs(Head("d", "Needs."), CLAY, F(1, 2), OIL, F(2)),
    Reaches(Head("w", "Reaches."), "yeast", F(5)),
    FreeLiquid(Head("f", "Free."), F(20), None, predicted=True),
    Forecast(Head("a", "Water activity."), "water_activity", None, F("0.97"), predicted=True),
    Response(Head("q", "Softness."), fitted(), F(7), None, predicted=True),
    Thickness(Head("t", "Thick."), F(20), None, F(10)),
    Stock(Head("s", "Shelf."), {"kaolin": F(3), "glycerin": F(100)}),
)


def _outcomes() -> dict[str, Outcome]:
    request = replace(
        mask_request(),
        rules=(*MASK_RULES, *OTHER_RULES),
        set_aside=(SetAside("talc", "no paper"),),
        dropped=(Remark("a", "b"),),
        remarks=(Remark("a", "b", "c"),),
        consequences=(Remark("use", "leave-on now"),),
    )
    proposal = mask_proposal()
    base = tuple(
        Verdict(rule, rule.head.id != "c", F(1), unit="%", margin=F(-1, 7)) for rule in request.rules
    )
    witness = Witness("c", (("kaolin", F(60)), ("water", F(40))))
    conflict = Conflict(
        request.rules[:2], True, (witness,), True, ("1 × a + 3/7 × b: 0 ≥ 4",), (Remark("c", "41.2 %"),)
    )
    concession = Concession(
        OTHER_RULES[5], "9.50 EUR/kg", "9.80 EUR/kg", "Allow 9.80 EUR/kg.", F(3), proposal
    )
    bare = replace(concession, proposal=None)
    return {
        "proposals": Proposals(
            request, base, (proposal, replace(proposal, heading="Alternative", cost_per_kg=None))
        ),
        "impossible": Impossible(request, base, (conflict,), (concession, bare), ("HiGHS", "exact"), True),
        "undecided": Undecided(
            request, base, "it ran out of time", (Remark("kaolin", "assumed"),), (conflict,)
        ),
    }


def _schema() -> Any:
    return json.loads(
        resources.files("optimiser").joinpath("schema/answer.schema.json").read_text(encoding="utf-8")
    )


@pytest.mark.parametrize("word", ["proposals", "impossible", "undecided"])
def test_every_outcome_follows_the_schema(word: str) -> None:
    jsonschema.Draft202012Validator.check_schema(_schema())
    read = json.loads(answer_json(_outcomes()[word], provenance=PROVENANCE))
    jsonschema.Draft202012Validator(_schema()).validate(read)
    assert read["outcome"] == word
    assert read["base"]["broken"] == ["c"]


def test_the_schema_is_strict() -> None:
    checker = jsonschema.Draft202012Validator(_schema())
    good = answer_dict(_outcomes()["proposals"], provenance=PROVENANCE)
    bad: list[dict[str, Any]] = [
        {**good, "more": 1},
        {name: value for name, value in good.items() if name != "provenance"},
        {**good, "outcome": "impossible"},
        {**good, "proposals": []},
        {**good, "undecided": {"why": "x"}},
    ]
    bare = json.loads(json.dumps(good))
    bare["proposals"][0]["lines"][0]["percent"] = 5.0
    exponent = json.loads(json.dumps(good))
    exponent["proposals"][0]["lines"][0]["percent"]["value"] = "5e0"
    for one in (*bad, bare, exponent):
        assert not checker.is_valid(one)


def _numbers(value: Any, key: str = "") -> Iterator[tuple[str, object]]:
    if isinstance(value, dict):
        for name, one in value.items():
            yield from _numbers(one, name)
    elif isinstance(value, list):
        for one in value:
            yield from _numbers(one, key)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield key, value


@pytest.mark.parametrize("word", ["proposals", "impossible", "undecided"])
def test_numbers_are_strings_with_units(word: str) -> None:
    answer = answer_dict(_outcomes()[word], provenance=PROVENANCE)
    assert {name for name, _ in _numbers(answer)} <= {"format", "rank", "cases"}


def test_a_reader_can_add_the_lines_up_and_recompute_a_margin() -> None:
    proposal: Proposal = mask_proposal()
    answer = answer_dict(Proposals(mask_request(), (), (proposal,)), provenance=PROVENANCE)
    lines = answer["proposals"][0]["lines"]
    assert sum(F(line["percent"]["value"]) for line in lines) == 100
    assert sum(F(line["grams"]["value"]) for line in lines) == 250
    margin = next(v["margin"] for v in answer["proposals"][0]["rules"] if v["margin"])
    assert F(margin["fraction"]) == F(1, 3)
    assert [line["to_reading"] for line in lines if line["to_reading"]] == ["pH 5.0"]
    stage = answer["proposals"][0]["stages"][0]
    assert F(stage["gap"]["fraction"]) == F(stage["value"]["value"]) - F(stage["bound"]["fraction"])


def test_every_kind_of_rule_has_its_limits() -> None:
    rules = {kind_of(rule): rule_dict(rule, "EUR") for rule in (*MASK_RULES, *OTHER_RULES)}
    assert len(rules) == len(get_args(Rule))
    assert rules["use-range"]["high"] == {"value": "2", "unit": "%"}
    assert rules["cost"]["high"] == {"value": "9.5", "unit": "EUR/kg"}
    assert rules["ratio"]["terms"]["bottom"] == ["kind:oil", "kind:butter"]
    assert rules["legal"]["terms"]["members"][1]["factor"]["fraction"] == "61/72"
    assert rules["legal"]["at"] == "worst"
    assert rules["covers"]["terms"] == {"group": "mould", "ph_top": {"value": "5.4", "unit": "pH"}}
    assert list(rules["stock"]["terms"]["most"]) == ["glycerin", "kaolin"]


@pytest.mark.parametrize(
    ("met", "margin", "binding"),
    [
        (True, F(0), True),
        (True, F(1, 1000), True),
        (True, F(1), False),
        (False, F(-1), False),
        (True, None, False),
    ],
)
def test_a_rule_at_its_limit_is_binding(met: bool, margin: F | None, binding: bool) -> None:
    assert verdict_dict(Verdict(MASK_RULES[1], met, margin=margin))["binding"] is binding


def test_the_digest_follows_what_is_asked_and_nothing_else() -> None:
    request: Request = mask_request()
    assert digest_of(request) == digest_of(mask_request())
    assert len(digest_of(request)) == 64
    others = [
        replace(request, aim=("cheapest",)),
        replace(request, batch_g=F(251)),
        replace(request, rules=request.rules[1:]),
        replace(request, base={**request.base, request.filler: F(50)}),
    ]
    assert len({digest_of(one) for one in (request, *others)}) == 5
