"""The formulas of a curve as one table: a row a formula and ingredient."""

from __future__ import annotations

import csv
import io

from optimiser.domain.curve import Axis, Curve
from optimiser.export.curve_words import names_of
from optimiser.export.plain import clean, decimal_text
from optimiser.export.sheet_csv import guard


def curve_csv(found: Curve) -> str:
    """Columns: formula, both measures with their unit, phase, ingredient, name, percent."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    heads = (_head(found.first), _head(found.second))
    writer.writerow(("formula", *heads, "phase", "ingredient", "name", "percent"))
    names = names_of(found)
    for point in found.points:
        values = (decimal_text(point.first), decimal_text(point.second))
        for line in point.proposal.lines:
            name = guard(clean(names[line.ingredient]))
            own = (guard(line.phase), guard(line.ingredient), name, decimal_text(line.percent))
            writer.writerow((point.number, *values, *own))
    return out.getvalue()


def _head(axis: Axis) -> str:
    return guard(clean(f"{axis.name} {axis.unit}".strip()))
