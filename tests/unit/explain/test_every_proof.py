"""A contradiction cut down to what it needs and written as a sum."""

from __future__ import annotations

from dataclasses import replace

from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.proof import Cases
from optimiser.certify.verify import covers
from optimiser.explain.every_proof import cut_down, sum_in_words
from optimiser.model.rows import Model
from optimiser.solver.highs import Relaxer
from tests.models import model, row, var


def shown(asked: Model) -> tuple[Model, tuple[str, ...]]:
    proof = prove_infeasible_by_cases(asked, Relaxer())
    assert isinstance(proof, Cases)
    small, short = cut_down(asked, proof)
    assert covers(small, short)
    return small, sum_in_words(small, short)


def test_rows_that_are_not_needed_are_left_out_and_noughts_named_together() -> None:
    rows = [row("much", {"x": 1}, 6), row("all", {"x": 1, "y": 2}, None, 5), row("other", {"y": 1}, None, 9)]
    small, lines = shown(model("min", {}, [var("x"), var("y")], rows))
    assert [r.name for r in small.rows] == ["much", "all"]
    assert lines == (
        "1 × (all; as a row: at most 5)",
        "1 × (much; as a row: at least 6)",
        "and 1 limit of 0, such as that no share is below 0",
        "together: 0 would have to be at least 1",
    )


def test_yes_and_no_have_a_sum_each() -> None:
    """x is 0, or between 2 and 3; at least 1 and at most 1.5 is asked."""
    rows = [
        row("there", {"x": 1, "y": -3}, None, 0),
        row("least", {"x": 1, "y": -2}, 0),
        row("asked", {"x": 1}, 1, "1.5"),
    ]
    used = replace(var("y", 0, 1, "B"), title="gum is used")
    _, lines = shown(model("min", {}, [var("x"), used], rows))
    cases = [line for line in lines if line.startswith("Case")]
    assert sorted(cases) == ["Case: gum is used: no.", "Case: gum is used: yes."]
    assert sum(line.startswith("together") for line in lines) == 2
