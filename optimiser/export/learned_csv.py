"""Rows of learned.csv."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from optimiser.domain.learned import Learned
from optimiser.export.plain import clean, decimal_text
from optimiser.loading.learned import HEADER
from optimiser.units.numbers import DecimalMark


def learned_rows(rows: Iterable[Learned], decimal: DecimalMark = "point", delimiter: str = ",") -> str:
    """One line a row, in the order of the header; numbers with the worktable's decimal mark."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n", delimiter=delimiter)
    for one in rows:
        figure = one.figure
        numbers = (decimal_text(value) for value in (figure.value, figure.low, figure.high))
        marked = (number.replace(".", ",") if decimal == "comma" else number for number in numbers)
        texts = (one.day.isoformat(), clean(one.ingredient), clean(one.lot), clean(one.what))
        writer.writerow((*map(_still, texts), *marked, figure.unit, _still(clean(figure.source))))
    return text.getvalue()


def learned_head() -> str:
    return HEADER


def _still(text: str) -> str:
    """A spreadsheet reckons nothing of it."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else text
