from __future__ import annotations

from fractions import Fraction

from optimiser.certify.proof import Cases, Farkas, Term
from optimiser.certify.verify import covers
from optimiser.explain.deciding import Caps, Judge
from optimiser.explain.enumerate import shrink
from optimiser.explain.sides import (
    Member,
    in_order,
    is_named,
    limit_of,
    members,
    moved,
    rows_of_rules,
    used,
    without,
)
from optimiser.model.rows import Model
from tests.models import model, row, var

WINDOW = model(
    "min",
    {},
    [var("x", 0, 4), var("n", None, 9, "I"), var("b", 0, 1, "B"), var("forced", 1, 1, "B")],
    [
        row("window", {"x": 1, "n": 1}, 2, 3),
        row("total", {"x": 1}, None, 100, rule="physics"),
        row("free", {"x": 1}),
    ],
)


def test_every_finite_side_is_a_member_in_the_files_order() -> None:
    """The 0 and 1 of a yes-or-no variable are what it is; the 1 it is forced to is a limit."""
    assert [(m.what, m.name, m.side) for m in members(WINDOW)] == [
        ("row", "window", "lower"),
        ("row", "window", "upper"),
        ("row", "total", "upper"),
        ("bound", "x", "lower"),
        ("bound", "x", "upper"),
        ("bound", "n", "upper"),
        ("bound", "forced", "lower"),
        ("whole", "whole numbers", ""),
    ]
    assert members(WINDOW)[-1].vars == ("n", "b", "forced")


def test_rows_of_a_rule_are_never_blamed() -> None:
    names = [m.name for m in members(WINDOW, rows_of_rules("physics"))]
    assert "total" not in names
    assert "window" in names


def test_a_member_is_named_by_its_own_name_or_by_its_row_s_rule() -> None:
    named = {
        name: [m.name for m in members(WINDOW) if is_named(WINDOW, m, name)]
        for name in ("physics", "total", "x", "aaa", "zzz")
    }
    assert named == {"physics": ["total"], "total": ["total"], "x": ["x", "x"], "aaa": [], "zzz": []}


def test_those_named_first_stand_in_front_and_the_others_as_they_were() -> None:
    found = members(WINDOW)
    names = [m.name for m in in_order(WINDOW, found, ["n", "physics"])]
    assert names == ["n", "total", "window", "window", "x", "x", "forced", "whole numbers"]
    assert in_order(WINDOW, found, []) == found


def test_what_a_proof_names_without_need_is_dropped_from_the_conflict() -> None:
    """Ten times x >= 2 and x <= 1 still contradict each other with y from 0 to 5 added in."""
    asked = model(
        "min",
        {},
        [var("x", None), var("y", None)],
        [row("low", {"x": 1}, 2), row("high", {"x": 1}, None, 1), row("loose", {"y": 1}, 0, 5)],
    )
    sides = (("low", "lower", 10), ("high", "upper", 10), ("loose", "lower", 1), ("loose", "upper", 1))
    terms = tuple(Term("row", name, side, Fraction(by)) for name, side, by in sides)  # type: ignore[arg-type]
    wordy = Cases((Farkas(terms, Fraction(5)),))
    assert covers(asked, wordy)
    judge = Judge(asked, members(asked), Caps())
    bits, proof, minimal = shrink(judge, judge.everything, wordy)
    assert [(m.name, m.side) for m in judge.chosen(bits)] == [("low", "lower"), ("high", "upper")]
    assert minimal
    assert covers(asked, proof)
    late = Judge(asked, members(asked), Caps(checks=0))
    assert shrink(late, late.everything, wordy) == (late.everything, wordy, False)


def test_dropping_members_leaves_the_rest_as_it_was() -> None:
    part = without(WINDOW, [Member("row", "window", "upper"), Member("bound", "x", "lower")])
    assert (part.rows[0].lower, part.rows[0].upper) == (Fraction(2), None)
    assert (part.vars[0].lower, part.vars[0].upper) == (None, Fraction(4))
    assert part.rows[1:] == WINDOW.rows[1:]
    assert part.whole == WINDOW.whole
    assert without(WINDOW, []) is WINDOW


def test_dropping_whole_numbers_frees_the_variables_and_keeps_their_limits() -> None:
    part = without(WINDOW, [members(WINDOW)[-1]])
    assert part.whole == ()
    assert [(v.lower, v.upper) for v in part.vars] == [(v.lower, v.upper) for v in WINDOW.vars]


def test_a_limit_moves_alone() -> None:
    upper, limit = Member("row", "window", "upper"), Member("bound", "x", "upper")
    assert limit_of(moved(WINDOW, upper, Fraction(7)), upper) == 7
    assert limit_of(moved(WINDOW, upper, Fraction(7)), Member("row", "window", "lower")) == 2
    assert limit_of(moved(WINDOW, limit, Fraction(-1)), limit) == -1
    assert limit_of(WINDOW, members(WINDOW)[-1]) is None


def parity() -> Model:
    """2x + 2y = 5 in whole numbers within 0 and 3."""
    return model(
        "min",
        {},
        [var("x", 0, 3, "I"), var("y", 0, 3, "I")],
        [row("sum", {"x": 2, "y": 2}, 5, 5)],
    )


def test_a_proof_by_cases_rests_on_whole_numbers_and_not_on_the_limits_of_a_case() -> None:
    judge = Judge(parity(), members(parity()), Caps())
    found = judge.decide(judge.everything)
    assert isinstance(found, Cases)
    assert covers(parity(), found)
    rests_on = used(parity(), found)
    assert {m.name for m in rests_on if m.what == "row"} == {"sum"}
    assert [m for m in rests_on if m.what == "whole"]
    for member in rests_on:
        if member.what == "bound":
            assert limit_of(parity(), member) is not None


def test_what_an_answer_meets_is_not_decided_again() -> None:
    judge = Judge(WINDOW, members(WINDOW), Caps())
    judge.decide(judge.everything)
    judge.decide(judge.everything >> 1)
    assert judge.checks == 1
