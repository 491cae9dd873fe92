"""Cases are proved when all of them look refuted, whatever the float solver says of them."""

from __future__ import annotations

import pytest

from optimiser.certify import cases
from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.proof import Cases, Feasible, Relaxed
from optimiser.model.rows import Model
from optimiser.solver.highs import relax
from tests.models import model, row, var


def _odd(count: int) -> Model:
    """Twice the sum of yes-or-no variables is one: no answer, and every split leaves one."""
    names = [f"x{i}" for i in range(count)]
    return model(
        "min", {}, [var(name, 0, 1, "B") for name in names], [row("r", dict.fromkeys(names, 2), 3, 3)]
    )


def test_past_the_cap_no_time_goes_into_proofs(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise AssertionError("a case was proved in vain")

    monkeypatch.setattr(cases, "prove_infeasible", never)
    assert prove_infeasible_by_cases(_odd(8), relax, max_leaves=5) is None
    monkeypatch.undo()
    assert isinstance(prove_infeasible_by_cases(_odd(4), relax), Cases)


def test_a_case_that_only_looks_refuted_is_not_taken_for_it() -> None:
    """A solver that calls everything impossible finds the exact answer there is, not a proof."""
    whole = model("min", {}, [var("x", 0, 3, "I"), var("y", 0, 3, "I")], [row("r", {"x": 2, "y": 3}, 7, 7)])
    found = prove_infeasible_by_cases(whole, lambda _: Relaxed(True, None, None, None))
    assert isinstance(found, Feasible)
    assert not whole.violations(found.values)
    odd = prove_infeasible_by_cases(_odd(3), lambda _: Relaxed(True, None, None, None))
    assert isinstance(odd, Cases)
