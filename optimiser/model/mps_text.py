"""A model written as free MPS text. The neutral form says more; this is for other programs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from decimal import Context, Decimal
from fractions import Fraction

from optimiser.errors import DataError
from optimiser.model.exact import exact_text, indecimal
from optimiser.model.rows import ZERO, Model, Row, Var
from optimiser.problems import Problem


def write_mps(model: Model, digits: int | None = 17) -> str:
    """Free MPS text, same model same bytes. Names with spaces become x1…, r1…, told in comments.

    MPS knows finite decimals only. A row with other numbers is multiplied by a whole number, which loses
    nothing; a cost or a limit of a variable with other numbers is rounded to `digits` significant digits, or
    raises DataError where `digits` is None. The text tells both in comments. Crossed limits, which MPS cannot
    say, raise DataError.
    """
    return _Writer(model, digits).text()


class _Writer:
    def __init__(self, model: Model, digits: int | None) -> None:
        self.scales = {row.name: _scale(row) for row in model.rows}
        self.model = replace(model, rows=tuple(_scaled(row, self.scales[row.name]) for row in model.rows))
        self.digits = digits
        self.problems: list[Problem] = []
        self.rounded = False
        self.columns = _plain((var.name for var in model.vars), "x")
        self.rows = _plain((row.name for row in model.rows), "r")
        self.cost = "COST"
        while self.cost in self.rows.values():
            self.cost += "_"

    def text(self) -> str:
        model = self.model
        self.problems += model.faults(model.name)
        body = ["NAME " + ("_".join(model.name.split()) or "model"), "OBJSENSE", f" {model.sense.upper()}"]
        body += ["ROWS", f" N {self.cost}", *(f" {_kind(row)} {self.rows[row.name]}" for row in model.rows)]
        body += ["COLUMNS", *self.column_lines(), "RHS", *self.right_lines()]
        body += self.section(
            "RANGES",
            (
                f" RNG {self.rows[row.name]} {self.number(row.upper - row.lower, row.name)}"
                for row in model.rows
                if row.lower is not None and row.upper is not None and row.lower != row.upper
            ),
        )
        body += self.section("BOUNDS", (line for var in model.vars for line in self.bounds(var)))
        if self.problems:
            raise DataError(tuple(self.problems))
        head = [
            f"* {short} = {name}"
            for names in (self.columns, self.rows)
            for name, short in names.items()
            if short != name
        ]
        head += [
            f"* row {self.rows[name]} is multiplied by {scale} to keep its decimals finite"
            for name, scale in self.scales.items()
            if scale != 1
        ]
        if self.rounded:
            head.append(f"* some numbers are no finite decimals and are rounded to {self.digits} digits")
        return "\n".join([*head, *body, "ENDATA"]) + "\n"

    @staticmethod
    def section(title: str, lines: Iterable[str]) -> list[str]:
        found = list(lines)
        return [title, *found] if found else []

    def number(self, value: Fraction, entry: str) -> str:
        text = exact_text(value)
        if "/" not in text:
            return text
        if self.digits is None:
            expected, fix = "a finite decimal", "write the neutral form, or allow rounding"
            self.problems.append(Problem(self.model.name, None, entry, expected, text, fix))
            return "0"
        self.rounded = True
        return str(Context(prec=self.digits).divide(Decimal(value.numerator), Decimal(value.denominator)))

    def column_lines(self) -> list[str]:
        entries: dict[str, list[tuple[str, Fraction]]] = {var.name: [] for var in self.model.vars}
        for name, coef in self.model.cost:
            entries.get(name, []).append((self.cost, coef))
        for row in self.model.rows:
            for name, coef in row.coef:
                entries.get(name, []).append((self.rows[row.name], coef))
        lines, whole = [], False
        for var in self.model.vars:
            if (var.kind != "C") != whole:
                whole = not whole
                lines.append(f" MARKER 'MARKER' '{'INTORG' if whole else 'INTEND'}'")
            lines += [
                f" {self.columns[var.name]} {row} {self.number(coef, var.name)}"
                for row, coef in entries[var.name] or [(self.cost, ZERO)]
            ]
        return [*lines, " MARKER 'MARKER' 'INTEND'"] if whole else lines

    def right_lines(self) -> list[str]:
        lines = (
            [f" RHS {self.cost} {self.number(-self.model.constant, 'constant')}"]
            if self.model.constant
            else []
        )
        for row in self.model.rows:
            limit = row.upper if row.lower is None else row.lower
            if limit:
                lines.append(f" RHS {self.rows[row.name]} {self.number(limit, row.name)}")
        return lines

    def bounds(self, var: Var) -> list[str]:
        name, low, high = self.columns[var.name], var.lower, var.upper
        lines = [f" BV BND {name}"] if var.kind == "B" else []
        if var.kind == "B" and low == 0 and high == 1:
            return lines
        if low is not None and low == high:
            return [*lines, f" FX BND {name} {self.number(low, var.name)}"]
        if low is None and high is None:
            return [f" FR BND {name}"]
        if low is None:
            lines.append(f" MI BND {name}")
        elif low or var.kind == "I" or (high is not None and high < 0):
            lines.append(f" LO BND {name} {self.number(low, var.name)}")
        if high is not None:
            lines.append(f" UP BND {name} {self.number(high, var.name)}")
        elif var.kind == "I":
            lines.append(f" PL BND {name}")
        return lines


def _scale(row: Row) -> int:
    numbers = [value for _, value in row.coef] + [
        limit for limit in (row.lower, row.upper) if limit is not None
    ]
    return math.lcm(*(indecimal(value) for value in numbers))


def _scaled(row: Row, scale: int) -> Row:
    if scale == 1:
        return row
    lower, upper = (None if limit is None else limit * scale for limit in (row.lower, row.upper))
    return replace(
        row, coef=tuple((name, value * scale) for name, value in row.coef), lower=lower, upper=upper
    )


def _kind(row: Row) -> str:
    if row.lower is None:
        return "N" if row.upper is None else "L"
    return "E" if row.lower == row.upper else "G"


def _plain(names: Iterable[str], letter: str) -> dict[str, str]:
    """Names as they are when none needs care, else numbered ones for all."""
    kept = list(names)
    if all(
        name and not set(name) & set(" \t\r\n") and name.split() == [name] and name[0] not in "*$'"
        for name in kept
    ):
        return {name: name for name in kept}
    return {name: f"{letter}{i}" for i, name in enumerate(kept, start=1)}
