"""The best value of a stage proved in exact fractions, so that it rests on no solver's tolerance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.certify.best import Best, prove_best
from optimiser.certify.proof import Optimum
from optimiser.certify.simplex import solve_exactly
from optimiser.model.rows import Model
from optimiser.solver.highs import Relaxer, solve_lp

MENDINGS = 10
MAX_CASES = 400
"""Cases after which a value is left to the solver's word, where time is no matter; a case takes 0.03 s."""
FEW_CASES = 25
"""The same where somebody waits for the answer."""


@dataclass(frozen=True, slots=True)
class Proved:
    """`values` reach `reached`, and no answer is better by `step` (0: none is better at all), in `cases`."""

    values: Mapping[str, Fraction]
    reached: Fraction
    step: Fraction
    cases: int


def exact_answer(model: Model, values: Mapping[str, float]) -> Mapping[str, Fraction] | None:
    """The best exact answer with the whole variables held at what the floats round to, if there is one.

    What is left is a linear model without whole variables: its last basis is solved again in fractions.
    """
    held = {name: Fraction(round(values[name])) for name in model.whole}
    part = model.with_bounds({name: (value, value) for name, value in held.items()})
    exact = solve_exactly(part, solve_lp(part).basis)
    if isinstance(exact, Optimum) and not model.violations(exact.values):
        return exact.values
    return None


def proved_best(model: Model, start: Mapping[str, Fraction], max_cases: int = MAX_CASES) -> Proved | None:
    """Proof that `start`, or one better by a hair found on the way, is the best; None past the caps."""
    values, reached = start, model.evaluate(start)
    for _ in range(MENDINGS):
        best = prove_best(model, values, Relaxer(), max_cases)
        if isinstance(best, Best):
            return Proved(values, reached, Fraction(0) if best.exact else best.step, len(best.cases.nodes))
        if best is None:
            return None
        floats = {name: float(value) for name, value in best.values.items()}
        values = exact_answer(model, floats) or best.values
        reached = model.evaluate(values)
    return None


def proved_bound(model: Model, values: Mapping[str, float], max_cases: int = MAX_CASES) -> Proved | None:
    """The same from a solver's answer; None where nothing could be settled in fractions."""
    start = exact_answer(model, values)
    return None if start is None else proved_best(model, start, max_cases)
