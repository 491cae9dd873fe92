"""What trials and batches share: a day, grams and a count of an entry, and entries that count from 1."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from typing import Protocol

from optimiser.domain.ingredient import Place
from optimiser.loading.cells import read_day
from optimiser.loading.entries import Entries
from optimiser.loading.findings import Findings, shown
from optimiser.units.numbers import read_number
from optimiser.units.quantities import read_amount


class Written(Protocol):
    """An entry of a file that is only added to."""

    @property
    def number(self) -> int: ...
    @property
    def corrects(self) -> int | None: ...
    @property
    def place(self) -> Place: ...


def day_of(entries: Entries, name: str) -> date | None:
    """A calendar day that has to be there; None with a finding where it is not one."""
    text = entries.text(name, needed=True)
    day = read_day(text)
    if text and day is None:
        entries.findings.add(entries.line(name), name, "a date such as 2026-11-01", shown(text))
    return day


def grams_of(entries: Entries, name: str, *, needed: bool = False) -> Fraction | None:
    """Grams of an amount with its unit."""
    text = entries.text(name, needed=needed)
    return entries.findings.number(entries.line(name), name, read_amount(text, "point")) if text else None


def number_of(entries: Entries, name: str) -> Fraction | None:
    """A number with a decimal point."""
    text = entries.text(name)
    return entries.findings.number(entries.line(name), name, read_number(text)) if text else None


def count_of(entries: Entries, name: str, *, needed: bool = False) -> int | None:
    """A whole number from 0."""
    text = entries.text(name, needed=needed)
    if not text:
        return None
    value = entries.findings.number(entries.line(name), name, read_number(text))
    if value is not None and (value.denominator != 1 or value < 0):
        entries.findings.add(entries.line(name), name, "a whole number", shown(text))
        return None
    return None if value is None else int(value)


def numbered(written: Sequence[Written], findings: Findings) -> None:
    """Entries count from 1; a correction speaks of an earlier one, and of each once."""
    gone: set[int] = set()
    for place, one in enumerate(written, 1):
        if one.number != place:
            findings.add(one.place.line, "entry", f"n: {place}, the next number", str(one.number))
        if one.corrects is None:
            continue
        if not 1 <= one.corrects < one.number:
            findings.add(one.place.line, "entry", "corrects: an earlier entry", str(one.corrects))
        elif one.corrects in gone:
            found = f"{one.corrects}, corrected before"
            findings.add(one.place.line, "entry", "corrects: an entry that counts", found)
        gone.add(one.corrects)
