"""Exact proofs that rows and limits cannot hold together, found with a float solver's hint."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from fractions import Fraction

from optimiser.certify.linear import null_vector
from optimiser.certify.proof import Farkas, Term, crossed, tidy
from optimiser.certify.simplex import solve_exactly
from optimiser.model.basis import Basis
from optimiser.model.rows import Model, Row, Side

NOUGHT = Fraction(0)
SMALL = 1e-9
NEAR = 1e-7


def prove_infeasible(
    model: Model, hint: Mapping[str, float] | None = None, basis: Basis | None = None, pivots: int = 2000
) -> Farkas | None:
    """Exact multipliers that refute the continuous relaxation; None: none found, which proves nothing.

    `hint`: float multipliers by row, of either sign; `basis`: where the float solver stopped. Without both
    the exact simplex starts from nothing, with at most `pivots` pivots.
    """
    if proof := crossed(model):
        return proof
    for sign in (1, -1):
        if hint and (proof := _from_support(model, {name: sign * value for name, value in hint.items()})):
            return proof
    found = solve_exactly(model.with_cost({}), basis, pivots)
    if found is not None:
        return found if isinstance(found, Farkas) else None
    for sign in (1, -1):
        if hint and (proof := combine(model, {n: sign * Fraction(v) for n, v in hint.items()})):
            return proof
    return None


def combine(model: Model, multipliers: Mapping[str, Fraction], gone: Collection[str] = ()) -> Farkas | None:
    """The proof these row multipliers give (positive: the lower side, negative: the upper one), if any.

    What is left of each variable is cancelled by one of its limits. Of the variables in `gone` nothing is
    left, as whoever computed the multipliers knows.
    """
    terms: list[Term] = []
    left: dict[str, Fraction] = {}
    gap = Fraction(0)
    for row in model.rows:
        factor = multipliers.get(row.name)
        if not factor:
            continue
        side, limit = _side(factor, row.lower, row.upper)
        if limit is None:
            return None
        terms.append(Term("row", row.name, side, abs(factor)))
        gap += factor * limit
        for name, coef in row.coef:
            if name not in gone:
                left[name] = left[name] + factor * coef if name in left else factor * coef
    for var in model.vars:
        factor = -left.get(var.name, NOUGHT)
        if not factor:
            continue
        side, limit = _side(factor, var.lower, var.upper)
        if limit is None:
            return None
        terms.append(Term("bound", var.name, side, abs(factor)))
        gap += factor * limit
    return tidy(terms, gap) if gap > 0 else None


def _side(factor: Fraction, lower: Fraction | None, upper: Fraction | None) -> tuple[Side, Fraction | None]:
    return ("lower", lower) if factor > 0 else ("upper", upper)


def _from_support(model: Model, hint: Mapping[str, float]) -> Farkas | None:
    """Keep which rows the hint uses and which variables it cancels; compute the multipliers exactly."""
    largest = max((abs(value) for value in hint.values()), default=0.0)
    if not 0 < largest < float("inf"):
        return None
    rows = [row for row in model.rows if abs(hint.get(row.name, 0.0)) > SMALL * largest]
    wished = [Fraction(hint[row.name] / largest).limit_denominator(10**6) for row in rows]
    cancelled = _cancelled(rows, [hint[row.name] / largest for row in rows])
    kept = [{name: coef for name, coef in row.coef if name in cancelled} for row in rows]
    exact = null_vector(kept, wished)
    if exact is None:
        return None
    return combine(model, {row.name: value for row, value in zip(rows, exact, strict=True)}, cancelled)


def _cancelled(rows: list[Row], factors: list[float]) -> set[str]:
    """Variables that vanish from the float sum, up to its rounding."""
    left: dict[str, float] = {}
    size: dict[str, float] = {}
    for row, factor in zip(rows, factors, strict=True):
        for name, coef in row.coef:
            part = factor * (coef.numerator / coef.denominator)
            left[name] = left.get(name, 0.0) + part
            size[name] = size.get(name, 0.0) + abs(part)
    return {name for name, value in left.items() if abs(value) <= NEAR * size[name]}
