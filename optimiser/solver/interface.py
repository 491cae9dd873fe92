"""What every solver is asked, and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction

from optimiser.errors import SolverError
from optimiser.model.basis import Basis
from optimiser.model.rows import Model


class Outcome(Enum):
    """FEASIBLE: a limit was hit with an answer in hand; UNKNOWN: without one. Neither says 'impossible'."""

    OPTIMAL = "optimal"
    INFEASIBLE = "infeasible"
    UNBOUNDED = "unbounded"
    FEASIBLE = "feasible"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Limits:
    """Where to stop; None is no limit. Nodes give the same answer on every machine, seconds do not.

    `gap`: an answer this near to the best is enough, in the unit of the cost (HiGHS with whole numbers only).
    """

    seconds: float | None = None
    nodes: int | None = None
    gap: float = 0.0


NO_LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Solution:
    """An answer in floats, by name.

    `duals` is the change of the cost per unit of a row's limit and `reduced` per unit of a variable, in the
    model's own sense (LP only). `bound`: no answer can be better, as far as the solver knows. `ray`:
    multipliers of the rows that cannot hold together (infeasible LP only), a hint for a proof.
    """

    outcome: Outcome
    objective: float | None = None
    values: Mapping[str, float] = field(default_factory=dict)
    bound: float | None = None
    nodes: int = 0
    duals: Mapping[str, float] | None = None
    reduced: Mapping[str, float] | None = None
    basis: Basis | None = None
    ray: Mapping[str, float] | None = None
    note: str = ""

    @property
    def has_values(self) -> bool:
        return self.outcome in (Outcome.OPTIMAL, Outcome.FEASIBLE)


def as_float(value: Fraction, what: str = "a number") -> float:
    """The nearest float; raises SolverError where there is none."""
    try:
        return value.numerator / value.denominator
    except OverflowError:
        raise SolverError(f"{what} is too large for the solver", "use a larger unit") from None


def plain_contradiction(model: Model) -> str:
    """What cannot hold by itself: crossed limits, or a row without variables that asks for something."""
    for var in model.vars:
        if var.lower is not None and var.upper is not None and var.lower > var.upper:
            return f"limits of {var.name} cross"
    for row in model.rows:
        low, high = row.lower, row.upper
        if low is not None and high is not None and low > high:
            return f"limits of {row.name} cross"
        if not any(value for _, value in row.coef) and ((low or 0) > 0 or (high or 0) < 0):
            return f"{row.name} has no variables"
    return ""
