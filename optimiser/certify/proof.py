"""What a proof is made of. Everything here can be summed up again by hand; `verify` does."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from optimiser.model.basis import Basis
from optimiser.model.rows import Model, Side


@dataclass(frozen=True, slots=True)
class Term:
    """`multiplier` (> 0) times one side of a row, or one limit of a variable (`bound`).

    A lower side reads `Σ coef · x >= lower`, an upper side `−Σ coef · x >= −upper`.
    """

    what: Literal["row", "bound"]
    name: str
    side: Side
    multiplier: Fraction


@dataclass(frozen=True, slots=True)
class Farkas:
    """Terms whose sum reads `0 >= gap` with gap > 0: together they have no answer. Coprime whole numbers."""

    terms: tuple[Term, ...]
    gap: Fraction


@dataclass(frozen=True, slots=True)
class Optimum:
    """The exact optimum of the continuous relaxation.

    `duals` and `reduced`: change of the cost per unit of a row's limit, of a variable, in the model's sense.
    They prove it: the same cost follows from the limits alone.
    """

    objective: Fraction
    values: Mapping[str, Fraction]
    duals: Mapping[str, Fraction]
    reduced: Mapping[str, Fraction]
    basis: Basis


@dataclass(frozen=True, slots=True)
class Unbounded:
    """An answer, and a direction in which one can go for ever while the cost gets better."""

    values: Mapping[str, Fraction]
    direction: Mapping[str, Fraction]


@dataclass(frozen=True, slots=True)
class Feasible:
    """An answer that meets every row, every limit and every whole number, exactly."""

    values: Mapping[str, Fraction]


@dataclass(frozen=True, slots=True)
class Split:
    """`var <= at` leads to node `below`, `var >= at + 1` to `above`; a whole variable has no third way."""

    var: str
    at: int
    below: int
    above: int


@dataclass(frozen=True, slots=True)
class Cases:
    """A tree of cases, each refuted: node 0 is the root, the others are found by their place in `nodes`."""

    nodes: tuple[Split | Farkas, ...]

    @property
    def leaves(self) -> tuple[Farkas, ...]:
        return tuple(node for node in self.nodes if isinstance(node, Farkas))


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What a float solver says of the continuous relaxation: hints, none of them trusted."""

    infeasible: bool
    values: Mapping[str, float] | None = None
    ray: Mapping[str, float] | None = None
    basis: Basis | None = None


def tidy(terms: Iterable[Term], gap: Fraction) -> Farkas:
    """The same proof in coprime whole multipliers, rows before limits, by name."""
    kept = [term for term in terms if term.multiplier]
    scale = Fraction(math.lcm(*(t.multiplier.denominator for t in kept)))
    scale /= math.gcd(*(int(t.multiplier * scale) for t in kept))
    ordered = sorted(kept, key=lambda t: (t.what != "row", t.name, t.side))
    return Farkas(tuple(replace(t, multiplier=t.multiplier * scale) for t in ordered), gap * scale)


def crossed(model: Model) -> Farkas | None:
    """The proof for limits that cross by themselves, or a row without variables that asks for something."""
    for var in model.vars:
        if var.lower is not None and var.upper is not None and var.lower > var.upper:
            return _pair("bound", var.name, var.lower - var.upper)
    for row in model.rows:
        if row.lower is not None and row.upper is not None and row.lower > row.upper:
            return _pair("row", row.name, row.lower - row.upper)
        if not any(value for _, value in row.coef):
            if row.lower is not None and row.lower > 0:
                return Farkas((Term("row", row.name, "lower", Fraction(1)),), row.lower)
            if row.upper is not None and row.upper < 0:
                return Farkas((Term("row", row.name, "upper", Fraction(1)),), -row.upper)
    return None


def _pair(what: Literal["row", "bound"], name: str, gap: Fraction) -> Farkas:
    return Farkas((Term(what, name, "lower", Fraction(1)), Term(what, name, "upper", Fraction(1))), gap)
