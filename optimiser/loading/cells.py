"""Typed access to the cells of one table row."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from optimiser.loading.findings import Findings, shown
from optimiser.loading.places import ID, LONGEST_ID
from optimiser.loading.tables import Columns, Row
from optimiser.units.numbers import DecimalMark
from optimiser.units.quantities import read_with_unit


@dataclass(frozen=True, slots=True)
class Spread:
    """low <= value <= high."""

    value: Fraction
    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class Cells:
    """One row; `entry` names it in messages."""

    row: Row
    entry: str
    columns: Columns
    findings: Findings
    decimal: DecimalMark = "point"

    def add(self, name: str, expected: str, found: str, fix: str = "") -> None:
        self.findings.add(self.row.line, self.entry, expected, found, fix, self.row.cell(name))

    def text(self, name: str, *, needed: bool = False) -> str:
        text = self.row[name]
        if needed and not text:
            self.add(name, f"a value for {name}", "an empty cell")
        return text

    def number(
        self, name: str, *, unit: str | None = None, low: int = 0, high: int | None = None
    ) -> Fraction | None:
        """The number of a cell that may be empty; its unit (the column's) may be written or left out."""
        text = self.row[name]
        if not text:
            return None
        counted = self.columns.unit(name) if unit is None else unit
        value = self.findings.number(
            self.row.line,
            self.entry,
            read_with_unit(text, self.decimal, counted, bare=True),
            self.row.cell(name),
        )
        if value is None:
            return None
        if not _within(value, low, high):
            top = f"from {low} to {high}" if high is not None else f"of {low} or more"
            self.add(name, f"a number {top}", shown(text))
            return None
        return value

    def whole(self, name: str) -> int | None:
        value = self.number(name)
        if value is None:
            return None
        if value.denominator != 1:
            self.add(name, "a whole number", shown(self.row[name]))
            return None
        return int(value)

    def spread(self, middle: str, *, unit: str = "", low: int = 0, high: int | None = None) -> Spread | None:
        """`middle`, low and high: a value, both ends, or all three; without a value their middle stands."""
        before = len(self.findings.problems)
        value, least, most = (
            self.number(name, unit=unit, low=low, high=high) for name in (middle, "low", "high")
        )
        if len(self.findings.problems) > before:
            return None
        if value is None and (least is None or most is None):
            self.add(
                middle, "a value, or low and high", "empty cells" if least is most is None else "one end only"
            )
            return None
        if least is not None and most is not None and least > most:
            self.add("low", "low of at most high", f"{self.row['low']} above {self.row['high']}", "swap them")
            return None
        if value is None:
            assert least is not None and most is not None  # noqa: PT018, S101
            return Spread((least + most) / 2, least, most)
        if least is None and most is None:
            return Spread(value, value, value)
        least, most = value if least is None else least, value if most is None else most
        if not least <= value <= most:
            ends = f"{self.row[middle]} outside {self.row['low'] or '…'} to {self.row['high'] or '…'}"
            self.add(middle, "a value between low and high", ends)
            return None
        return Spread(value, least, most)

    def day(self, name: str) -> date | None:
        text = self.row[name]
        if not text:
            return None
        day = read_day(text)
        if day is None:
            self.add(name, "a date such as 2026-11-01", shown(text), "write year-month-day")
        return day

    def identifier(self, name: str) -> str | None:
        """The cell as an id: lower-case words joined by hyphens."""
        text = self.text(name, needed=True)
        if not text:
            return None
        if len(text) > LONGEST_ID or not ID.fullmatch(text):
            slug = re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")[:LONGEST_ID]
            fix = f"write {slug}" if slug else ""
            self.add(name, "an id of a-z, 0-9 and hyphens", shown(text), fix)
            return None
        return text


def _within(value: Fraction, low: int, high: int | None) -> bool:
    """Compared as whole numbers: tables hold many."""
    over, under = value.numerator, value.denominator
    return low * under <= over and (high is None or over <= high * under)


def read_day(text: str) -> date | None:
    """A date written year-month-day."""
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text, re.ASCII):
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
