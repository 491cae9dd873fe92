"""A model in exact fractions."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.model.rows import Violation, build
from tests.models import model, row, var

PLAIN = model(
    "min",
    {"x": 2, "y": 3},
    [var("x", 0, 4), var("y", 0, 5, "I")],
    [row("r", {"x": 1, "y": 1}, 2, 6, rule="a"), row("s", {"x": 1}, None, 3)],
    constant=1,
)


def test_cost_of_an_assignment_includes_the_constant() -> None:
    assert PLAIN.evaluate({"x": Fraction(1, 2), "y": Fraction(2)}) == 8


def test_violations_say_which_side_and_by_how_much() -> None:
    found = PLAIN.violations({"x": Fraction(5), "y": Fraction(5, 2)})
    assert found == (
        Violation("r", "row", "upper", Fraction(3, 2)),
        Violation("s", "row", "upper", Fraction(2)),
        Violation("x", "bound", "upper", Fraction(1)),
        Violation("y", "bound", "whole", Fraction(1, 2)),
    )


def test_an_answer_violates_nothing() -> None:
    assert PLAIN.violations({"x": Fraction(0), "y": Fraction(2)}) == ()


def test_a_violation_far_below_float_precision_is_seen() -> None:
    tiny = Fraction(1, 10**40)
    assert PLAIN.violations({"x": Fraction(0), "y": 2 - tiny})[0] == Violation("r", "row", "lower", tiny)


def test_dropping_a_rule_drops_its_rows_only() -> None:
    assert [r.name for r in PLAIN.without_rules({"a", ""}).rows] == ["s"]


def test_other_bounds_rows_and_costs_leave_the_rest() -> None:
    other = PLAIN.with_bounds({"x": (None, Fraction(9))}).with_cost(
        {"y": Fraction(1), "x": Fraction(0)}, "max"
    )
    other = other.with_rows([row("t", {"y": 1}, 1)])
    assert other.vars == (var("x", None, 9), PLAIN.vars[1])
    assert other.cost == (("y", Fraction(1)),)
    assert other.sense == "max"
    assert other.constant == 0
    assert [r.name for r in other.rows] == ["r", "s", "t"]


def test_tightening_never_loosens() -> None:
    assert PLAIN.tightened("x", lower=Fraction(-1), upper=Fraction(9)) == PLAIN
    assert PLAIN.tightened("x", upper=Fraction(2)).vars[0].upper == 2


def test_every_fault_is_found_at_once() -> None:
    wrong = model(
        "min",
        {"q": 1},
        [var("x", 3, 2), var("x"), var("b", 0, 2, "B")],
        [row("r", {"z": 1}, 1), row("r", {"x": 1}, 2, 1)],
    )
    found, problems = build(wrong, "wrong.json")
    assert found is None
    assert [(p.entry, p.found) for p in problems] == [
        ("variable x", "2 times"),
        ("row r", "2 times"),
        ("cost", '"q"'),
        ("row r", '"z"'),
        ("variable x", "3 above 2"),
        ("row r", "2 above 1"),
        ("variable b", "0 to 2"),
    ]


def test_building_sorts_coefficients_and_drops_zeros() -> None:
    loose = replace(row("r", {}, 1), coef=(("y", Fraction(1)), ("x", Fraction(0)), ("b", Fraction(2))))
    found, _ = build(model("min", {}, [var("x"), var("y"), var("b")], [loose]))
    assert found is not None
    assert found.rows[0].coef == (("b", Fraction(2)), ("y", Fraction(1)))
