"""The sheet as one HTML page that prints well: no script, nothing from outside."""

from __future__ import annotations

from fractions import Fraction

from markupsafe import Markup

from optimiser.export import sheet_curve
from optimiser.export.make_up import make_up_svg
from optimiser.export.pages import environment
from optimiser.export.sheet import Check, Sheet, SheetCurve, SheetPhase
from optimiser.units.numbers import MARKS, show_number

MOST_ROWS_WHOLE = 8
"""Lines and steps of a phase that is never broken over two pages."""
NAMESPACE = ' xmlns="http://www.w3.org/2000/svg"'
"""What a drawing in a file of its own needs, and one in a page does not."""


def sheet_html(sheet: Sheet) -> str:
    """The page. All text from the data is escaped; the same sheet gives the same bytes."""
    numbers = Numbers(sheet)
    template = environment().get_template("sheet.html.j2")
    return (
        template.render(
            sheet=sheet,
            share=numbers.share,
            grams=numbers.grams,
            rest=numbers.rest,
            readings=readings_of(sheet),
            ph=numbers.ph,
            figure=numbers.figure,
            drawing=numbers.drawing,
            box=sheet_curve,
            whole=_fits,
            picture=picture_of(sheet),
        )
        + "\n"
    )


def picture_of(sheet: Sheet) -> Markup:
    """The formula as a drawn bar, one part for what each line does; empty where nothing is known."""
    parts = [(name.replace("-", " "), share) for name, share in sheet.roles]
    drawn = make_up_svg([("By what each line does", parts)], sheet.decimal) if parts else ""
    return Markup(drawn.replace(NAMESPACE, "", 1))  # noqa: S704  # every text in it is escaped


def _fits(phase: SheetPhase) -> bool:
    """Whether a phase is short enough to be kept on one page."""
    rows = len(phase.lines) + len(phase.steps)
    return rows <= MOST_ROWS_WHOLE and not phase.curves


def readings_of(sheet: Sheet) -> tuple[tuple[Check, ...], ...]:
    """Checks of the same thing side by side, in the order of the first of each."""
    found: dict[tuple[str, str], list[Check]] = {}
    for check in sheet.checks:
        found.setdefault((check.what, check.target), []).append(check)
    return tuple(tuple(checks) for checks in found.values())


class Numbers:
    """Numbers of one sheet, each column with the same digits."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet

    def share(self, value: Fraction) -> str:
        return show_number(value, self._sheet.percent_places, decimal=self._sheet.decimal, trim=False)

    def grams(self, value: Fraction, places: int) -> str:
        """Only the decimals that the balance reads."""
        return show_number(value, places, decimal=self._sheet.decimal, trim=False)

    def ph(self, value: Fraction) -> str:
        return self.figure(value, 1)

    def figure(self, value: Fraction, places: int) -> str:
        return show_number(value, places, decimal=self._sheet.decimal, trim=False)

    def drawing(self, curve: SheetCurve) -> sheet_curve.Drawing:
        return sheet_curve.draw(curve, self.figure)

    def rest(self, places: int) -> str:
        """The decimals of the column that the balance does not read: kept open, unseen."""
        missing = self._sheet.places - places
        mark = "" if places else MARKS[self._sheet.decimal]
        return mark + "0" * missing if missing > 0 else ""
