"""Ratios over very many lines speak of one variable for their sum, and mean the same."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.outcome import Proposals
from optimiser.domain.rules import Ratio, Rule
from optimiser.domain.selector import AnyOf, Pick
from optimiser.lp import scope
from optimiser.lp.build import build, rows_alone
from optimiser.model.rows import Model
from optimiser.solver.solving import solve
from tests.small import head, request
from tests.workflows.desk import asked_anew, third_of_demo


def ratios(bottom: Pick | AnyOf) -> tuple[Rule, ...]:
    return tuple(
        Ratio(head(f"ratio {n}"), Pick("group", "gum"), bottom, Fraction(n, 100), Fraction(n, 20))
        for n in (1, 2)
    )


def asking(bottom: Pick | AnyOf) -> Model:
    made = request()
    return build(replace(made, rules=(*made.rules, *ratios(bottom))))


def test_each_sum_is_told_once(monkeypatch: pytest.MonkeyPatch) -> None:
    written_out = asking(Pick("group", "clay"))
    monkeypatch.setattr(scope, "MANY", 2)
    short = asking(Pick("group", "clay"))
    sums = {var.name for var in short.vars} - {var.name for var in written_out.vars}
    assert sums == {"sum:low:group:clay in all", "sum:high:group:clay in all"}
    assert [row.name for row in short.rows if row.name.startswith("physics:sum:")] == sorted(
        f"physics:{name}" for name in sums
    )
    long, brief = (
        [row.coef for row in model.rows if row.name.endswith("ratio 1:most")]
        for model in (written_out, short)
    )
    assert len(brief) == 1
    assert len(brief[0]) < len(long[0])


def test_spelled_out_nothing_is_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    made = request()
    made = replace(made, rules=(*made.rules, *ratios(Pick("group", "clay"))))
    written_out = build(made)
    monkeypatch.setattr(scope, "MANY", 2)
    assert build(made) != written_out
    assert build(made, spelled_out=True) == written_out
    rule = made.rules[-1]
    own = rows_alone(rule, made, Incumbent({}, Fraction(0)))[1]
    assert {row.name: row for row in own}.items() <= {row.name: row for row in written_out.rows}.items()


def test_picks_of_one_name_and_another_field_are_other_sums(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scope, "MANY", 0)
    names = {var.name for by in ("group", "kind") for var in asking(Pick(by, "clay")).vars}
    assert {"sum:high:group:clay in all", "sum:high:kind:clay in all"} <= names


@pytest.mark.parametrize("sign", [1, -1])
def test_the_best_is_the_same_with_and_without(monkeypatch: pytest.MonkeyPatch, sign: int) -> None:
    bottom = AnyOf((Pick("group", "clay"), Pick("role", "solvent")))
    written_out = asking(bottom)
    costs = [
        {var.name: Fraction(sign * (1 + n % 7)) for n, var in enumerate(written_out.vars)},
        {var.name: Fraction(sign) for var in written_out.vars if var.name.startswith("x:kaolin")},
    ]
    expected = [solve(written_out.with_cost(cost)).objective for cost in costs]
    monkeypatch.setattr(scope, "MANY", 1)
    assert [solve(asking(bottom).with_cost(cost)).objective for cost in costs] == pytest.approx(expected)


def test_a_whole_answer_is_the_same_with_and_without(monkeypatch: pytest.MonkeyPatch) -> None:
    sources = third_of_demo("rose-serum")
    found = []
    for many in (200, 1):
        monkeypatch.setattr(scope, "MANY", many)
        outcome = asked_anew(sources, "rose-serum", leave_out=["xanthan"], aim=["closest"])
        assert isinstance(outcome, Proposals)
        assert (many == 1) == any(var.name.startswith("sum:") for var in build(outcome.request).vars)
        found.append((outcome.proposals[0].lines, outcome.proposals[0].cost_per_kg))
    assert found[0] == found[1]
