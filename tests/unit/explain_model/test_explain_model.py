from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from optimiser.certify.verify import covers
from optimiser.errors import DataError, UsageError
from optimiser.explain.deciding import Caps
from optimiser.explain.hitting import TooManyError, smallest_new
from optimiser.explain.sides import Member
from optimiser.model.neutral import write_neutral
from optimiser.model.rows import Model
from optimiser.solver.interface import Outcome
from optimiser.workflows.explain_model import explain_file, explain_model, explanation_as_dict
from tests.explained import check, conflicts, cures, names, new_limits
from tests.models import model, row, var


def windows(count: int) -> Model:
    """So many pairs of rows that clash by themselves: as many conflicts, 2^count cures."""
    return model(
        "min",
        {},
        [var(f"x{i}", None) for i in range(count)],
        [
            item
            for i in range(count)
            for item in (row(f"low{i}", {f"x{i}": 1}, 2), row(f"high{i}", {f"x{i}": 1}, None, 1))
        ],
    )


def hair(short_by: str) -> Model:
    """x + y >= 1 with limits that leave it short by so much."""
    return model(
        "min",
        {},
        [var("x", 0, "0.5"), var("y", 0, Fraction("0.5") - Fraction(short_by))],
        [row("all", {"x": 1, "y": 1}, 1)],
    )


def test_a_possible_model_comes_with_an_exact_answer() -> None:
    asked = model("max", {"x": 1}, [var("x")], [row("third", {"x": 3}, 1)])
    found = explain_model(asked)
    assert found.verdict == "possible"
    assert not asked.violations(found.answer)
    assert (found.clashes, found.cures, found.repairs, found.mix) == ((), (), (), None)


def test_three_verdicts() -> None:
    """Short by 0.01: impossible. Short by 1e-12: no answer either, but the solver cannot see it."""
    assert explain_model(hair("0.01")).verdict == "impossible"
    assert explain_model(hair("0")).verdict == "possible"
    near = explain_model(hair("0.000000000001"))
    assert (near.verdict, near.solver) == ("within tolerance", Outcome.OPTIMAL)
    assert near.complete
    assert names(near.clashes[0].members) == {"all lower", "limit of x upper", "limit of y upper"}
    assert near.mix is not None
    assert near.mix.total == Fraction("0.000000000001")


def test_limits_alone_and_the_mix_by_hand() -> None:
    """2x >= 10 with x <= 4: x to 5 is a quarter of its limit, the row to 8 a fifth."""
    found = explain_model(model("min", {}, [var("x", 0, 4)], [row("need", {"x": 2}, 10)]))
    assert new_limits(found) == {"need lower": "8", "limit of x upper": "5"}
    assert [r.verdict for r in found.repairs if r.member.side == "lower" and r.member.what == "bound"] == [
        "never"
    ]
    assert found.mix is not None
    assert (found.mix.total, found.mix.noughts) == (Fraction(1, 5), False)
    assert [(m.member.name, m.to) for m in found.mix.moves] == [("need", Fraction(8))]


def test_limits_at_nought_move_only_where_nothing_else_helps() -> None:
    """x <= -y and x >= y + 0 with y = 1 fixed by rows at 0: the rows at 0 have to give."""
    asked = model(
        "min",
        {},
        [var("x", 0), var("y", 1, 1)],
        [row("low", {"x": 1, "y": 2}, None, 0)],
    )
    found = explain_model(asked, never=lambda _model, member: member.what == "bound")
    assert found.mix is not None
    assert found.mix.noughts
    assert [(m.member.name, m.to, m.share) for m in found.mix.moves] == [("low", Fraction(2), Fraction(1))]


def test_whole_numbers_are_a_member_where_they_matter() -> None:
    """2x = 5 in whole numbers; with 0 <= x <= 3 kept it is the row's two sides and the whole number."""
    asked = model("min", {}, [var("x", 0, 3, "I")], [row("odd", {"x": 2}, 5, 5)])
    found = explain_model(asked, never=lambda _model, member: member.what == "bound")
    assert conflicts(found) == {frozenset({"odd lower", "odd upper", "whole"})}
    assert cures(found) == {frozenset({"odd lower"}), frozenset({"odd upper"}), frozenset({"whole"})}
    assert found.clashes[0].split == ("x",)
    assert new_limits(found) == {"odd lower": "4", "odd upper": "6"}
    check(found)


def test_whole_numbers_are_not_named_where_they_do_not_matter() -> None:
    asked = model("min", {}, [var("x", 0, 3, "I")], [row("high", {"x": 2}, 7, None)])
    found = explain_model(asked)
    assert conflicts(found) == {frozenset({"high lower", "limit of x upper"})}
    assert found.clashes[0].split == ()


def test_what_always_holds_is_shown_and_not_blamed() -> None:
    asked = model(
        "min",
        {},
        [var("x"), var("y")],
        [
            row("total", {"x": 1, "y": 1}, 100, 100, rule="physics"),
            row("most x", {"x": 1}, None, 30),
            row("most y", {"y": 1}, None, 60),
        ],
    )
    found = explain_model(asked)
    assert conflicts(found) == {frozenset({"most x upper", "most y upper"})}
    assert found.clashes[0].always == (Member("row", "total", "lower"),)
    assert new_limits(found) == {"most x upper": "40", "most y upper": "70"}


def test_what_always_holds_may_clash_by_itself() -> None:
    asked = model("min", {}, [var("x", 0, 1)], [row("law", {"x": 1}, 2, None, "law"), row("r", {"x": 1}, 0)])
    found = explain_model(asked, never=lambda _model, member: member.what == "bound" or member.name == "law")
    assert found.verdict == "impossible"
    assert conflicts(found) == {frozenset()}
    assert (found.cure_count, found.complete) == (0, True)
    assert covers(found.clashes[0].part, found.clashes[0].proof)
    assert [r.verdict for r in found.repairs] == ["never"]


def test_a_long_list_is_cut_and_says_so() -> None:
    """Three conflicts and eight cures, all found; two of each listed."""
    found = explain_model(windows(3), most=2)
    assert (found.clash_count, found.cure_count, found.complete) == (3, 8, True)
    assert (len(found.clashes), len(found.cures)) == (2, 2)


@pytest.mark.parametrize("caps", [Caps(checks=5), Caps(found=4)])
def test_a_search_that_stops_early_never_calls_itself_complete(caps: Caps) -> None:
    found = explain_model(windows(3), caps=caps)
    assert found.verdict == "impossible"
    assert not found.complete
    assert found.clash_count <= 3
    assert found.cure_count < 8


def test_a_part_that_cannot_be_decided_leaves_the_lists_open() -> None:
    """2x - 2y = 1 without limits: no cap on cases settles it, so nothing is claimed."""
    asked = model(
        "min", {}, [var("x", 0, 5, "I"), var("y", 0, 5, "I")], [row("odd", {"x": 2, "y": -2}, 1, 1)]
    )
    found = explain_model(asked, caps=Caps(leaves=40))
    assert found.verdict == "impossible"
    assert not found.complete
    assert found.unsettled or any(not clash.minimal for clash in found.clashes)
    for clash in found.clashes:
        assert covers(clash.part, clash.proof)


def test_no_proof_within_the_caps_is_undecided() -> None:
    names_ = [f"x{i}" for i in range(12)]
    asked = model(
        "min",
        {},
        [var(name, 0, 1, "B") for name in names_],
        [row("odd", dict.fromkeys(names_, 2), 11, 11)],
    )
    found = explain_model(asked, caps=Caps(leaves=3))
    assert found.verdict == "undecided"
    assert not found.complete


def test_a_search_for_sets_can_be_stopped() -> None:
    with pytest.raises(TooManyError):
        smallest_new([0b111, 0b111000], [], 0, steps=2)


def test_the_dictionary_is_json_with_exact_numbers(tmp_path: Path) -> None:
    path = tmp_path / "thirds.json"
    asked = model("min", {}, [var("x", 0)], [row("a", {"x": 3}, None, 1), row("b", {"x": 1}, "0.5")])
    path.write_text(write_neutral(asked), "utf-8")
    data = json.loads(json.dumps(explanation_as_dict(explain_file(path))))
    assert data["outcome"] == "impossible"
    assert data["certified"] is True
    assert data["conflicts"]["found"] == 1
    limits = {entry["name"]: entry["new_limit"] for entry in data["repairs"] if entry["alone"] == "enough"}
    assert limits == {"a": "1.5", "b": "1/3"}
    assert data["conflicts"]["listed"][0]["proof"][0]["says"] == "0 >= 0.5"
    assert data["mix"]["sum_of_shares"] == "1/3"


def test_faults_of_a_file_are_told_as_such(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_text("{}", "utf-8")
    with pytest.raises(DataError):
        explain_file(tmp_path / "a.json")
    with pytest.raises(UsageError):
        explain_file(tmp_path / "a.txt")
