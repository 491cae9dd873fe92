"""A model solved once, by HiGHS or, for a second opinion, by CBC."""

from __future__ import annotations

from typing import Literal

from optimiser.model.rows import Model
from optimiser.solver.highs import Session
from optimiser.solver.interface import NO_LIMITS, Limits, Outcome, Solution, as_float, plain_contradiction
from optimiser.solver.pulp_backend import solve_by_cbc

Engine = Literal["highs", "cbc"]


def solve(model: Model, *, engine: Engine = "highs", limits: Limits = NO_LIMITS) -> Solution:
    """Solve the model with its whole variables; gap 0, one thread, a fixed seed, silent."""
    if contradiction := plain_contradiction(model):
        return Solution(Outcome.INFEASIBLE, note=contradiction)
    if not model.vars:
        constant = as_float(model.constant)
        return Solution(Outcome.OPTIMAL, constant, {}, constant)
    return Session(model, once=True).solve(limits) if engine == "highs" else solve_by_cbc(model, limits)
