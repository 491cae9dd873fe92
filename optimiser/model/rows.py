"""A linear model: variables with limits, rows with limits, a cost. All numbers are exact."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from optimiser.model.exact import exact_text
from optimiser.problems import Problem

Kind = Literal["C", "I", "B"]
Sense = Literal["min", "max"]
Side = Literal["lower", "upper"]
Coefs = tuple[tuple[str, Fraction], ...]
ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Var:
    """A variable: continuous `C`, whole `I` or yes-or-no `B`; a limit of None is no limit."""

    name: str
    lower: Fraction | None = ZERO
    upper: Fraction | None = None
    kind: Kind = "C"
    title: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """`lower <= Σ coef · variable <= upper`; `rule` is the id of what asked for it, `sentence` its words."""

    name: str
    coef: Coefs
    lower: Fraction | None = None
    upper: Fraction | None = None
    rule: str = ""
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class Violation:
    """What an assignment breaks, and by how much (> 0). `side` is `whole` where a whole number is asked."""

    name: str
    what: Literal["row", "bound"]
    side: Literal["lower", "upper", "whole"]
    by: Fraction


@dataclass(frozen=True, slots=True)
class Model:
    """Variables, rows and a cost to make least (`min`) or greatest (`max`).

    The plain constructor checks nothing; `build` does. Crossed limits (lower > upper) are allowed here: they
    make a model that has no answer.
    """

    name: str
    vars: tuple[Var, ...]
    rows: tuple[Row, ...]
    cost: Coefs = ()
    sense: Sense = "min"
    constant: Fraction = ZERO

    @property
    def whole(self) -> tuple[str, ...]:
        """Names of the variables that must be whole."""
        return tuple(var.name for var in self.vars if var.kind != "C")

    def with_rows(self, rows: Iterable[Row]) -> Model:
        """The model with further rows after its own."""
        return replace(self, rows=(*self.rows, *rows))

    def without_rules(self, rules: set[str]) -> Model:
        """The model without the rows that came from these rules."""
        return replace(self, rows=tuple(row for row in self.rows if not row.rule or row.rule not in rules))

    def with_cost(
        self, cost: Mapping[str, Fraction] | Coefs, sense: Sense | None = None, constant: Fraction = ZERO
    ) -> Model:
        """The model with another cost; the sense stays unless given."""
        return replace(self, cost=linear(cost), sense=sense or self.sense, constant=constant)

    def with_bounds(self, bounds: Mapping[str, tuple[Fraction | None, Fraction | None]]) -> Model:
        """The model with other limits (lower, upper) for the named variables."""
        return replace(
            self,
            vars=tuple(
                replace(var, lower=bounds[var.name][0], upper=bounds[var.name][1])
                if var.name in bounds
                else var
                for var in self.vars
            ),
        )

    def tightened(self, name: str, lower: Fraction | None = None, upper: Fraction | None = None) -> Model:
        """The model with a limit of one variable moved inwards; a limit that is tighter already stays."""
        var = next(var for var in self.vars if var.name == name)
        lows = [limit for limit in (var.lower, lower) if limit is not None]
        highs = [limit for limit in (var.upper, upper) if limit is not None]
        return self.with_bounds({name: (max(lows, default=None), min(highs, default=None))})

    def without_vars(self, gone: Collection[str]) -> Model:
        """The model with these variables at nought and left out, and the rows that then say nothing."""
        if not gone:
            return self
        rows = []
        for row in self.rows:
            coef = tuple(pair for pair in row.coef if pair[0] not in gone)
            if len(coef) == len(row.coef):
                rows.append(row)
            elif coef or (row.lower or ZERO) > 0 or (row.upper is not None and row.upper < 0):
                rows.append(replace(row, coef=coef))
        return replace(
            self,
            vars=tuple(var for var in self.vars if var.name not in gone),
            rows=tuple(rows),
            cost=tuple(pair for pair in self.cost if pair[0] not in gone),
        )

    def relaxed(self) -> Model:
        """The model with whole and yes-or-no variables made continuous, their limits kept."""
        return replace(self, vars=tuple(replace(var, kind="C") for var in self.vars))

    def evaluate(self, values: Mapping[str, Fraction]) -> Fraction:
        """The cost of an assignment, constant included."""
        return total(self.cost, values) + self.constant

    def violations(self, values: Mapping[str, Fraction]) -> tuple[Violation, ...]:
        """Everything an assignment breaks, in the model's order, exactly. Empty: it is an answer."""
        found: list[Violation] = []
        for row in self.rows:
            found += _outside(row.name, "row", total(row.coef, values), row.lower, row.upper)
        for var in self.vars:
            value = values[var.name]
            found += _outside(var.name, "bound", value, var.lower, var.upper)
            if var.kind != "C" and value.denominator != 1:
                found.append(Violation(var.name, "bound", "whole", abs(value - round(value))))
        return tuple(found)

    def faults(self, file: str = "") -> tuple[Problem, ...]:
        """Names used twice, unknown variables, crossed limits, limits a yes-or-no variable cannot have."""
        known = {var.name for var in self.vars}
        found = _repeated("variable", (var.name for var in self.vars), file)
        found += _repeated("row", (row.name for row in self.rows), file)
        for entry, coefs in (("cost", self.cost), *((f"row {row.name}", row.coef) for row in self.rows)):
            found += _unknown(entry, coefs, known, file)
            found += _repeated(f"variable in {entry}", (name for name, _ in coefs), file)
        limits = itertools.chain(
            ((f"variable {v.name}", v.lower, v.upper) for v in self.vars),
            ((f"row {r.name}", r.lower, r.upper) for r in self.rows),
        )
        found += [
            _crossed(entry, low, high, file)
            for entry, low, high in limits
            if low is not None and high is not None and low > high
        ]
        found += [
            Problem(
                file,
                None,
                f"variable {var.name}",
                "limits within 0 and 1 for a yes-or-no variable",
                f"{_limit(var.lower)} to {_limit(var.upper)}",
                "state both limits, or make it a whole variable",
            )
            for var in self.vars
            if var.kind == "B" and (var.lower is None or var.upper is None or var.lower < 0 or var.upper > 1)
        ]
        return tuple(found)


def build(model: Model, file: str = "") -> tuple[Model | None, tuple[Problem, ...]]:
    """The model with coefficients sorted and zeros left out, or None with every fault found."""
    problems = model.faults(file)
    if problems:
        return None, problems
    rows = tuple(replace(row, coef=linear(row.coef)) for row in model.rows)
    return replace(model, rows=rows, cost=linear(model.cost)), ()


def linear(coefs: Mapping[str, Fraction] | Coefs) -> Coefs:
    """Coefficients sorted by variable name, without zeros."""
    pairs = coefs.items() if isinstance(coefs, Mapping) else coefs
    return tuple(sorted((name, value) for name, value in pairs if value))


def total(coefs: Coefs, values: Mapping[str, Fraction]) -> Fraction:
    """Σ coefficient · value."""
    return sum((coef * values[name] for name, coef in coefs), start=ZERO)


def _outside(
    name: str, what: Literal["row", "bound"], value: Fraction, lower: Fraction | None, upper: Fraction | None
) -> list[Violation]:
    found = []
    if lower is not None and value < lower:
        found.append(Violation(name, what, "lower", lower - value))
    if upper is not None and value > upper:
        found.append(Violation(name, what, "upper", value - upper))
    return found


def _repeated(what: str, names: Iterable[str], file: str) -> list[Problem]:
    counts = Counter(names)
    return [
        Problem(file, None, f"{what} {name}", "each name once", f"{count} times", "rename or merge them")
        for name, count in counts.items()
        if count > 1
    ]


def _unknown(entry: str, coefs: Coefs, known: set[str], file: str) -> list[Problem]:
    expected, fix = "a variable of the model", "add the variable or drop the term"
    return [Problem(file, None, entry, expected, f'"{name}"', fix) for name, _ in coefs if name not in known]


def _limit(value: Fraction | None) -> str:
    return "no limit" if value is None else exact_text(value)


def _crossed(entry: str, low: Fraction, high: Fraction, file: str) -> Problem:
    return Problem(
        file,
        None,
        entry,
        "a lower limit that is not above the upper one",
        f"{exact_text(low)} above {exact_text(high)}",
        "swap or mend the limits",
    )
