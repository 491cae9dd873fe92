"""Two more papers of the same sheet: one page for the table, and the whole batch record."""

from __future__ import annotations

from optimiser.export import sheet_curve
from optimiser.export.pages import environment
from optimiser.export.sheet import Sheet
from optimiser.export.sheet_html import Numbers, picture_of, readings_of

DENSE_ROWS = 28
"""Lines, phases and steps from which the papers are set closer, so that the table's page stays one."""


def table_html(sheet: Sheet) -> str:
    """One A4 or Letter page for the table: what to weigh, steps, readings, cautions."""
    return _rendered(sheet, "table.html.j2")


def record_html(sheet: Sheet) -> str:
    """Three pages: materials with a second look, making, then checks, yield, deviations and the decision."""
    return _rendered(sheet, "record.html.j2")


def _rendered(sheet: Sheet, template: str) -> str:
    numbers = Numbers(sheet)
    rows = len(sheet.lines) + sum(1 + len(phase.steps) for phase in sheet.phases)
    return (
        environment()
        .get_template(template)
        .render(
            sheet=sheet,
            share=numbers.share,
            grams=numbers.grams,
            readings=readings_of(sheet),
            cautions=_cautions(sheet),
            stocks=sheet.stocks,
            picture=picture_of(sheet),
            ph=numbers.ph,
            figure=numbers.figure,
            drawing=numbers.drawing,
            box=sheet_curve,
            rest=numbers.rest,
            dense=rows > DENSE_ROWS,
        )
        + "\n"
    )


def _cautions(sheet: Sheet) -> tuple[str, ...]:
    """Those of the whole sheet and of its lines, each once."""
    own = (text for line in sheet.lines for text in line.cautions)
    return tuple(dict.fromkeys((*sheet.cautions, *own)))
