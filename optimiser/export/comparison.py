"""A comparison as JSON, CSV and a page."""

from __future__ import annotations

import csv
import io
from fractions import Fraction
from typing import Any

from markupsafe import Markup

from optimiser.domain.comparison import Comparison, LinePair, MeasurePair, Side
from optimiser.export.make_up import make_up_svg
from optimiser.export.pages import environment
from optimiser.export.plain import clean, decimal_text, digits_of, quantity
from optimiser.export.sheet_csv import guard
from optimiser.units.numbers import DecimalMark, show_number

FORMAT = 1


def comparison_dict(found: Comparison) -> dict[str, Any]:
    """Numbers as decimal strings with their unit; None where one side does not have the measure."""
    return {
        "format": FORMAT,
        "first": _side(found.first),
        "second": _side(found.second),
        "moved": quantity(found.moved, "%"),
        "lines": [
            {
                "ingredient": pair.ingredient,
                "name": clean(pair.name),
                "first": quantity(pair.first, "%"),
                "second": quantity(pair.second, "%"),
                "ceiling": pair.dosed,
            }
            for pair in found.lines
        ],
        "measures": [
            {
                "name": pair.name,
                "first": quantity(pair.first, pair.unit),
                "second": quantity(pair.second, pair.unit),
            }
            for pair in found.measures
        ],
        "rules": [
            {"sentence": clean(pair.sentence), "first": pair.first, "second": pair.second}
            for pair in found.rules
        ],
        "label": [clean(text) for text in found.label],
    }


def _side(side: Side) -> dict[str, Any]:
    groups = [{"group": name, "share": quantity(share, "%")} for name, share in side.groups]
    return {"id": side.id, "name": clean(side.name), "asked": clean(side.asked), "groups": groups}


def comparison_csv(found: Comparison) -> str:
    """Lines, then measures: what, name, first, second, apart, unit."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("what", "name", found.first.id, found.second.id, "apart", "unit"))
    for pair in found.lines:
        writer.writerow(_row("line", pair.name, pair.first, pair.second, "%"))
    for measure in found.measures:
        writer.writerow(_row("measure", measure.name, measure.first, measure.second, measure.unit))
    return out.getvalue()


def _row(what: str, name: str, first: Fraction | None, second: Fraction | None, unit: str) -> list[str]:
    apart = None if first is None or second is None else second - first
    numbers = ("" if n is None else decimal_text(n) for n in (first, second, apart))
    return [what, guard(clean(name)), *numbers, guard(unit)]


def comparison_html(found: Comparison, decimal: DecimalMark = "point") -> str:
    """One page that prints on A4: the picture, the lines, the measures, what one side breaks."""

    def share(value: Fraction) -> str:
        return show_number(value, 3, decimal=decimal, trim=False) if value else "–"

    def apart(pair: LinePair) -> str:
        if not pair.first:
            return "new"
        return "out" if not pair.second else _signed(pair.moved, 3, decimal)

    def figure(pair: MeasurePair, value: Fraction | None) -> str:
        return (
            "–"
            if value is None
            else show_number(value, digits_of(pair.name, pair.unit), decimal=decimal, trim=False)
        )

    def difference(pair: MeasurePair) -> str:
        known = pair.first is not None and pair.second is not None
        return _signed(pair.second - pair.first, digits_of(pair.name, pair.unit), decimal) if known else ""  # type: ignore[operator]

    template = environment().get_template("comparison.html.j2")
    picture = Markup(picture_svg(found, decimal))  # noqa: S704  # made from escaped text only
    words = {"share": share, "apart": apart, "figure": figure, "difference": difference}
    return template.render(found=found, picture=picture, **words) + "\n"


def picture_svg(found: Comparison, decimal: DecimalMark = "point") -> str:
    """Both formulas as bars by group, the groups of the second in the order of the first."""
    order = [name for name, _ in found.first.groups]
    own = dict(found.second.groups)
    names = (*(name for name in order if name in own), *(name for name in own if name not in order))
    second = [(name, own[name]) for name in names]
    bars = [(found.first.name, _words(found.first.groups)), (found.second.name, _words(second))]
    return make_up_svg(bars, decimal)


def _words(groups: Any) -> list[tuple[str, Fraction]]:
    return [(name.replace("-", " "), share) for name, share in groups]


def _signed(value: Fraction, places: int, decimal: DecimalMark) -> str:
    text = show_number(abs(value), places, decimal=decimal, trim=False)
    if not round(value * 10**places):
        return ""
    return f"{'+' if value > 0 else chr(0x2212)}{text}"
