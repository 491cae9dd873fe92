"""The sheet as JSON: every number a decimal string with its unit."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

from optimiser.export.plain import quantity
from optimiser.export.provenance import Provenance
from optimiser.export.sheet import (
    ChangeRow,
    CurvePoint,
    Expected,
    ForetoldRow,
    Note,
    Sheet,
    SheetCurve,
    SheetLine,
    SheetPhase,
)

FORMAT = 1


def sheet_json(sheet: Sheet) -> str:
    """The text of `sheet_dict`, two blanks deep, with a line end."""
    return json.dumps(sheet_dict(sheet), ensure_ascii=False, indent=2) + "\n"


def sheet_dict(sheet: Sheet) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "title": sheet.title,
        "status": sheet.status,
        "formula": sheet.formula,
        "proposal": sheet.heading,
        "asked": sheet.asked,
        "batch": quantity(sheet.batch_g, "g"),
        "batch_note": sheet.batch_note,
        "make_up": [{"role": name, "share": quantity(share, "%")} for name, share in sheet.roles],
        "before": list(sheet.before),
        "stocks": list(sheet.stocks),
        "filling": sheet.filling,
        "cautions": list(sheet.cautions),
        "phases": [_phase(phase) for phase in sheet.phases],
        "checks": [
            {"when": one.when, "what": one.what, "target": one.target, "unit": one.unit}
            for one in sheet.checks
        ],
        "expected": _expected(sheet.expected) if sheet.expected else None,
        "changes": [_change(row) for row in sheet.changes],
        "on_paper": list(sheet.on_paper),
        "foretold": [_foretold(row) for row in sheet.foretold],
        "unmet_wishes": _notes(sheet.unmet),
        "sets_off": _notes(sheet.sets_off),
        "by_hand": _notes(sheet.by_hand),
        "rests_on": _notes(sheet.rests_on),
        "foot": list(sheet.foot),
        "provenance": provenance_dict(sheet.provenance),
    }


def provenance_dict(provenance: Provenance) -> dict[str, str]:
    return {
        "version": provenance.version,
        "table_sha256": provenance.table_digest,
        "request_sha256": provenance.request_digest,
        "code": provenance.code,
        "solvers": provenance.solvers,
    }


def _change(row: ChangeRow) -> dict[str, Any]:
    return {
        "name": row.name,
        "how": row.how,
        "from": quantity(row.old, "%"),
        "to": quantity(row.new, "%"),
        "because": list(row.because),
        "work": list(row.work),
    }


def _foretold(row: ForetoldRow) -> dict[str, Any]:
    return {"what": row.what, "value": row.value, "between": row.between, "errs_by": row.errs}


def _phase(phase: SheetPhase) -> dict[str, Any]:
    return {
        "phase": phase.name,
        "title": phase.title,
        "lines": [_line(line) for line in phase.lines],
        "steps": [
            {
                "number": str(one.number),
                "text": one.text,
                "kind": one.kind,
                "check": one.check,
                "ready": one.ready,
            }
            for one in phase.steps
        ],
        "curves": [_curve(one) for one in phase.curves],
    }


def _curve(curve: SheetCurve) -> dict[str, Any]:
    return {
        "ingredient": curve.ingredient,
        "name": curve.name,
        "target": quantity(curve.target, "pH"),
        "rows": [_curve_point(one) for one in curve.rows],
        "points": [_curve_point(one) for one in curve.points],
    }


def _curve_point(point: CurvePoint) -> dict[str, Any]:
    return {
        "added": quantity(point.grams, "g"),
        "drops": quantity(Fraction(point.drops), "drops"),
        **_ends((point.low, point.middle, point.high)),
    }


def _ends(ends: tuple[Fraction, Fraction, Fraction]) -> dict[str, Any]:
    return {name: quantity(value, "pH") for name, value in zip(("low", "ph", "high"), ends, strict=True)}


def _expected(expected: Expected) -> dict[str, Any]:
    return {
        "states": [
            {
                "when": row.when,
                "as_made": _ends(row.made),
                "read_1_in_10": _ends(row.read),
                "model_error": quantity(row.error, "pH"),
            }
            for row in expected.rows
        ],
        "texts": list(expected.texts),
        "to_write": {"grams_used_of": list(expected.used), "tells": expected.tells},
    }


def _line(line: SheetLine) -> dict[str, Any]:
    return {
        "number": str(line.number),
        "ingredient": line.ingredient,
        "name": line.name,
        "inci": line.inci,
        "from": quantity(line.old, "%"),
        "percent": quantity(line.new, "%"),
        "weigh": quantity(line.grams, "g"),
        "accept": {"low": quantity(line.low, "g"), "high": quantity(line.high, "g")},
        "to_reading": line.dosed,
        "lots": list(line.lots),
        "notes": list(line.notes),
        "cautions": list(line.cautions),
    }


def _notes(notes: tuple[Note, ...]) -> list[dict[str, str]]:
    return [{"what": note.what, "text": note.text, "source": note.source} for note in notes]
