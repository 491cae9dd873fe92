"""The sheet as a workbook: every text is a text, formulas are our own sums only."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction
from typing import Any

import xlsxwriter

from optimiser.export.sheet import Sheet

MADE = datetime(2000, 1, 1)  # noqa: DTZ001  # a fixed day, so that the same sheet gives the same bytes
SAFE = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "in_memory": True,
}
Cell = str | Fraction | int | None


def sheet_xlsx(sheet: Sheet) -> bytes:
    """Tabs Weigh, Steps, Readings, Changes, Notes; the same sheet gives the same bytes."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, SAFE)
    book.set_properties({"title": sheet.title, "comments": sheet.status, "created": MADE})
    forms = _Forms(book, sheet)
    _weigh(book, sheet, forms)
    steps = [(s.number, p.name, s.text, s.check, "") for p in sheet.phases for s in p.steps]
    _tab(book, "Steps", ("No", "Phase", "Step", "Look at first", "By"), steps, forms, (5, 8, 90, 40, 8))
    checks = [(c.when, c.what, c.target, "", c.unit) for c in sheet.checks]
    _tab(book, "Readings", ("When", "What", "Wanted", "Found", "Unit"), checks, forms, (18, 44, 40, 16, 8))
    changes = [(r.how, r.name, r.old, r.new, " ".join((*r.because, *r.work))) for r in sheet.changes]
    _tab(book, "Changes", ("", "Ingredient", "Old %", "New %", "Because"), changes, forms, (8, 34, 9, 9, 90))
    _tab(book, "Notes", ("About", "Text", "Source"), _notes(sheet), forms, (24, 100, 40))
    book.close()
    return out.getvalue()


class _Forms:
    """Formats: text that is never taken for a formula, numbers with the digits of the sheet."""

    def __init__(self, book: Any, sheet: Sheet) -> None:
        plain = {"valign": "top", "quote_prefix": True, "num_format": "@", "text_wrap": True}
        self.text = book.add_format(plain)
        self.head = book.add_format({"bold": True, "bottom": 1, "quote_prefix": True, "text_wrap": True})
        self.title = book.add_format({"bold": True, "font_size": 14, "quote_prefix": True})
        self.percent = book.add_format({"num_format": _digits(sheet.percent_places), "valign": "top"})
        self._book = book
        self._grams: dict[int, Any] = {}

    def grams(self, places: int, *, bold: bool = False) -> Any:
        key = places + (100 if bold else 0)
        if key not in self._grams:
            form = {"num_format": _digits(places), "bold": bold, "valign": "top", "top": 1 if bold else 0}
            self._grams[key] = self._book.add_format(form)
        return self._grams[key]


def _digits(places: int) -> str:
    return f"0.{'0' * places}" if places else "0"


def _weigh(book: Any, sheet: Sheet, forms: _Forms) -> None:
    tab = book.add_worksheet("Weigh")
    tab.write_string(0, 0, sheet.title, forms.title)
    for row, (name, value) in enumerate(
        (("Status", sheet.status), ("Code", sheet.provenance.code), ("Note", sheet.batch_note)), 1
    ):
        tab.write_string(row, 0, name, forms.text)
        tab.write_string(row, 1, value, forms.text)
    heads = (
        "Phase",
        "Ingredient",
        "INCI",
        "Old %",
        "New %",
        "Weigh g",
        "from g",
        "to g",
        "Lot",
        "Weighed g",
        "By",
    )
    top = 5
    for column, head in enumerate(heads):
        tab.write_string(top, column, head, forms.head)
    row = top
    for phase in sheet.phases:
        for line in phase.lines:
            row += 1
            lots = ", ".join(line.lots)
            for column, text in ((0, phase.name), (1, line.name), (2, line.inci), (8, lots)):
                tab.write_string(row, column, text, forms.text)
            for column, share in ((3, line.old), (4, line.new)):
                tab.write_number(row, column, float(share), forms.percent)
            for column, grams in ((5, line.grams), (6, line.low), (7, line.high)):
                tab.write_number(row, column, float(grams), forms.grams(line.places))
    last = row + 1
    tab.write_string(last, 1, "All together", forms.head)
    for column, total in ((4, sheet.new), (5, sheet.batch_g)):
        letter = chr(ord("A") + column)
        form = forms.grams(sheet.places if column == 5 else sheet.percent_places, bold=True)
        tab.write_formula(last, column, f"=SUM({letter}{top + 2}:{letter}{last})", form, float(total))
    for column, width in enumerate((7, 34, 34, 9, 9, 11, 10, 10, 16, 12, 7)):
        tab.set_column(column, column, width)
    tab.freeze_panes(top + 1, 2)
    tab.set_landscape()
    tab.fit_to_pages(1, 0)


def _tab(
    book: Any,
    name: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    forms: _Forms,
    widths: Sequence[int],
) -> None:
    tab = book.add_worksheet(name)
    for column, (head, width) in enumerate(zip(heads, widths, strict=True)):
        tab.write_string(0, column, head, forms.head)
        tab.set_column(column, column, width)
    for number, row in enumerate(rows, 1):
        for column, value in enumerate(row):
            if isinstance(value, str):
                tab.write_string(number, column, value, forms.text)
            elif value is not None:
                form = forms.percent if isinstance(value, Fraction) else forms.grams(0)
                tab.write_number(number, column, float(value), form)
    tab.freeze_panes(1, 0)
    tab.set_landscape()
    tab.fit_to_pages(1, 0)


def _notes(sheet: Sheet) -> list[tuple[str, str, str]]:
    found = [("before starting", text, "") for text in sheet.before]
    found += [("mind", text, "") for text in sheet.cautions]
    found += [(line.name, text, "") for line in sheet.lines for text in (*line.notes, *line.cautions)]
    found += [("on paper", text, "") for text in sheet.on_paper]
    found += [(f"foretold: {one.what}", one.told, "") for one in sheet.foretold]
    for notes in (sheet.unmet, sheet.sets_off, sheet.by_hand, sheet.rests_on):
        found += [(note.what, note.text, note.source) for note in notes]
    found += [("foot", text, "") for text in sheet.foot]
    source = sheet.provenance
    found.append(("provenance", f"version {source.version}, table {source.table_digest}", source.solvers))
    found.append(("provenance", f"request {source.request_digest}", ""))
    return found
