"""The curve as one page that prints on A4: the drawing, the table, the formulas side by side."""

from __future__ import annotations

from fractions import Fraction

from markupsafe import Markup

from optimiser.domain.curve import Curve, CurvePoint
from optimiser.export.curve_svg import curve_svg
from optimiser.export.curve_words import changes_of, figure, names_of, proof_of, title, with_unit
from optimiser.export.pages import environment
from optimiser.units.numbers import DecimalMark, show_number

_Block = tuple[tuple[CurvePoint, ...], list[tuple[str, list[str]]]]
BESIDE = 6
"""Formulas that fit side by side on a page."""


def curve_html(found: Curve, decimal: DecimalMark = "point") -> str:
    """No script, nothing from outside; all text from the data is escaped."""
    rows = [
        (
            point.number,
            figure(found.first, point.first, decimal),
            figure(found.second, point.second, decimal),
            changes_of(found, point, decimal),
        )
        for point in found.points
    ]
    picture = Markup(curve_svg(found, decimal))  # noqa: S704  # made from escaped text only
    template = environment().get_template("tradeoff.html.j2")
    base = [figure(a, v, decimal) for a, v in zip((found.first, found.second), found.base, strict=True)]
    return (
        template.render(
            found=found,
            picture=picture,
            rows=rows,
            blocks=_side_by_side(found, decimal),
            base=base,
            heads=(with_unit(found.first), with_unit(found.second)),
            titles=(title(found.first), found.second.name),
            told=proof_of(found),
        )
        + "\n"
    )


def _side_by_side(found: Curve, decimal: DecimalMark) -> list[_Block]:
    names = names_of(found)
    totals = [_totals(found, n) for n in range(len(found.points))]
    order = list(dict.fromkeys(name for one in totals for name in one))
    return [
        (
            found.points[start : start + BESIDE],
            [
                (names[name], [_share(one.get(name), decimal) for one in totals[start : start + BESIDE]])
                for name in order
                if any(name in one for one in totals[start : start + BESIDE])
            ],
        )
        for start in range(0, len(totals), BESIDE)
    ]


def _totals(found: Curve, number: int) -> dict[str, Fraction]:
    totals: dict[str, Fraction] = {}
    for line in found.points[number].proposal.lines:
        totals[line.ingredient] = totals.get(line.ingredient, Fraction(0)) + line.percent
    return totals


def _share(value: Fraction | None, decimal: DecimalMark) -> str:
    return show_number(value, 3, decimal=decimal, trim=False) if value else "–"
