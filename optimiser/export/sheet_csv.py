"""The sheet as one CSV table, harmless in a spreadsheet."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from fractions import Fraction

from optimiser.export.plain import decimal_text
from optimiser.export.sheet import ChangeRow, Sheet, SheetPhase
from optimiser.export.sheet_json import provenance_dict
from optimiser.units.numbers import show_number

COLUMNS = (
    "part",
    "phase",
    "no",
    "name",
    "inci",
    "old [%]",
    "new [%]",
    "weigh [g]",
    "accept from [g]",
    "accept to [g]",
    "lot",
    "weighed [g]",
    "initials",
    "text",
    "added [g]",
    "drops",
    "pH lowest",
    "pH",
    "pH highest",
    "pH error",
)
LIVE = "=+-@\t\r\n|＝＋－＠｜"
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?", re.ASCII)

Row = dict[str, str]


def guard(text: str) -> str:
    """The text with `'` before it where a spreadsheet would take it for a formula; plain numbers stay."""
    return f"'{text}" if text[:1] and text[0] in LIVE and not _NUMBER.fullmatch(text) else text


def sheet_csv(sheet: Sheet) -> str:
    """A rectangular table: `part` says what a row is, weights and shares are numbers with a point.

    Starts with a byte order mark, so that spreadsheets read it as UTF-8; lines end in CR LF.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="")
    writer.writeheader()
    for row in _rows(sheet):
        writer.writerow({name: guard(text) for name, text in row.items()})
    return f"\ufeff{out.getvalue()}"


def _rows(sheet: Sheet) -> Iterator[Row]:
    yield from _head_rows(sheet)
    yield from ({"part": "before", "text": text} for text in sheet.before)
    yield from ({"part": "caution", "text": text} for text in sheet.cautions)
    for phase in sheet.phases:
        yield from _phase_rows(sheet, phase)
    weight = show_number(sheet.batch_g, sheet.places, trim=False)
    yield {"part": "sum", "name": "batch", "new [%]": _share(sheet, sheet.new), "weigh [g]": weight}
    for check in sheet.checks:
        yield {"part": "check", "phase": check.when, "name": check.what, "text": check.target}
    yield from _expected_rows(sheet)
    for row in sheet.changes:
        yield _change_row(sheet, row)
    yield from ({"part": "on paper", "text": text} for text in sheet.on_paper)
    yield from ({"part": "foretold", "name": one.what, "text": one.told} for one in sheet.foretold)
    yield from _note_rows(sheet)
    yield from ({"part": "foot", "text": text} for text in sheet.foot)
    yield from _provenance_rows(sheet)


def _head_rows(sheet: Sheet) -> Iterator[Row]:
    facts = {
        "title": sheet.title,
        "status": sheet.status,
        "formula": sheet.formula,
        "asked": sheet.asked,
        "proposal": sheet.heading,
        "batch [g]": decimal_text(sheet.batch_g),
        "batch": sheet.batch_note,
        "filling": sheet.filling,
    }
    yield from ({"part": "head", "name": name, "text": text} for name, text in facts.items() if text)
    yield from ({"part": "head", "name": blank} for blank in sheet.blanks)
    for name, share in sheet.roles:
        yield {"part": "make-up", "name": name, "new [%]": _share(sheet, share)}


def _change_row(sheet: Sheet, row: ChangeRow) -> Row:
    return {
        "part": row.how,
        "name": row.name,
        "old [%]": _share(sheet, row.old),
        "new [%]": _share(sheet, row.new),
        "text": " ".join((*row.because, *(f"{work}." for work in row.work))),
    }


def _note_rows(sheet: Sheet) -> Iterator[Row]:
    for part, notes in (
        ("wish not met", sheet.unmet),
        ("sets off", sheet.sets_off),
        ("by hand", sheet.by_hand),
        ("rests on", sheet.rests_on),
    ):
        yield from ({"part": part, "name": note.what, "text": note.text} for note in notes)


def _provenance_rows(sheet: Sheet) -> Iterator[Row]:
    for name, text in provenance_dict(sheet.provenance).items():
        yield {"part": "provenance", "name": name, "text": text}


def _phase_rows(sheet: Sheet, phase: SheetPhase) -> Iterator[Row]:
    for line in phase.lines:
        weight = {
            name: show_number(value, line.places, trim=False)
            for name, value in (
                ("weigh [g]", line.grams),
                ("accept from [g]", line.low),
                ("accept to [g]", line.high),
            )
        }
        yield {
            "part": "line",
            "phase": phase.name,
            "no": str(line.number),
            "name": line.name,
            "inci": line.inci,
            "old [%]": _share(sheet, line.old),
            "new [%]": _share(sheet, line.new),
            **weight,
            "lot": ", ".join(line.lots),
            "text": " ".join((*line.notes, *line.cautions)),
        }
    for step in phase.steps:
        yield {
            "part": "step",
            "phase": phase.name,
            "no": str(step.number),
            "name": step.kind,
            "text": " ".join(filter(None, (step.text, step.check))),
        }

    for curve in phase.curves:
        for point in curve.rows:
            yield {
                "part": "curve",
                "phase": phase.name,
                "name": curve.name,
                "added [g]": show_number(point.grams, curve.places, trim=False),
                "drops": str(point.drops),
                **_ends((point.low, point.middle, point.high)),
            }


def _expected_rows(sheet: Sheet) -> Iterator[Row]:
    """What the pH should be, the words about it, and blanks for the two readings."""
    if sheet.expected is None:
        return
    for row in sheet.expected.rows:
        error = decimal_text(row.error)
        for how, ends in (("as made", row.made), ("read at 1 part in 10", row.read)):
            yield {
                "part": "expected",
                "name": row.when,
                "text": f"pH {how}",
                **_ends(ends),
                "pH error": error,
            }
    yield from ({"part": "expected", "text": text} for text in sheet.expected.texts)
    for name in sheet.expected.used:
        for what in ("pH before", "pH at the end", "grams used"):
            yield {"part": "to write", "name": name, "text": what}
    if sheet.expected.tells:
        yield {"part": "to write", "text": sheet.expected.tells}


def _ends(ends: tuple[Fraction, Fraction, Fraction]) -> Row:
    names = ("pH lowest", "pH", "pH highest")
    return {name: decimal_text(value) for name, value in zip(names, ends, strict=True)}


def _share(sheet: Sheet, value: Fraction) -> str:
    return show_number(value, sheet.percent_places, trim=False)
